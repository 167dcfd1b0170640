"""Ink: its centre lines, dashes and dots strung into lines."""
