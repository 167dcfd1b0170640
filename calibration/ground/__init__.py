"""What everything else stands on: errors, units, points in the plane, files."""
