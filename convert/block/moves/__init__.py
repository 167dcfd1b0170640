"""The moves a cutter makes on paper, as pure functions on a piece."""
