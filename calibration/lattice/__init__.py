"""The printed lattice: found, grown over the picture, its lines centred and counted."""
