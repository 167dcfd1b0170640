"""Darts: printed, punched, cut out or only shown by the edge's peak."""
