"""What punched holes mean."""
