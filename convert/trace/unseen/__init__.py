"""What the picture does not show, and the outline followed past it."""
