"""Reading what is on the paper: outline, marks and printed lines."""
