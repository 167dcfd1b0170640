"""What was told put over what was read."""
