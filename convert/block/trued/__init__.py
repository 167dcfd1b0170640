"""Truing as at the table: every line of a set of pieces drawn anew, darts folded, seams laid together."""
