"""Tiles and several photographs made one sheet."""
