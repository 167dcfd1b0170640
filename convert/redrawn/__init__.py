"""A drawing that a person edited, read back into a piece or a block."""
