"""On paper: drawing, sheets, SVG, PDF, DXF, report."""
