"""Which edge is which, for each kind of piece."""
