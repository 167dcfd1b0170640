"""Drawing: lines, letters, one piece at a chosen scale."""
