"""What each printed line or mark is."""
