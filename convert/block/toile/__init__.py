"""What the toile's fitting showed, carried back into the block."""
