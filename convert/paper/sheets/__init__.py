"""Pieces laid on sheets of paper."""
