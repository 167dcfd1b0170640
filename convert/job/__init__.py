"""The folder at the door."""
