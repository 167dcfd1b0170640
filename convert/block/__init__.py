"""The block: measuring, ease, comparison, moves, solving, truing and checks."""
