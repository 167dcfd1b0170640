"""What pieces measure on the seam line, darts closed."""
