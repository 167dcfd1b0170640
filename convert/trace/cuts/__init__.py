"""What is cut into the paper: holes, notches, slits."""
