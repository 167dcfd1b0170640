"""Pixels to millimetres and back: lens and plane fitted together, and how far to trust them."""
