"""A piece as the moves see it: one array of points, its landmarks, its places."""
