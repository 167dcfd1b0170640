"""The piece: named edges, darts, marks, seam allowance."""
