"""Reading: upright pixels, the resolution a file states, PDF pages."""
