"""The moves as steps to follow by hand."""
