"""Lines and curves of an outline: corners, caps, paths."""
