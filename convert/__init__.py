"""Flat paper -> piece -> block -> paper again. Never sees a camera."""
