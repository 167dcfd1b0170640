"""One file per step of the page."""
