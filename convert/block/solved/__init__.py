"""The amounts of all moves together."""
