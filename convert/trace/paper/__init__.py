"""What is paper: against the mat, under tape and weights."""
