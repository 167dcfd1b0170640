"""The one place where stages are put in order."""
