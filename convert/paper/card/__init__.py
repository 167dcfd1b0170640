"""The measurement card as a printed form."""
