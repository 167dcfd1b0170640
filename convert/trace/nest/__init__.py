"""Uncut sheets: each size's line put together, and which one is asked for."""
