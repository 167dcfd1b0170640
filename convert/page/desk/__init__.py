"""The folders at hand: their jobs, what is being read, what was read, how far each is."""
