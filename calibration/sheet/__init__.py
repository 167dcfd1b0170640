"""The picture redrawn flat, the lattice taken out, what lies on the mat."""
