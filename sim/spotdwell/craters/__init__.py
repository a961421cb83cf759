"""Craters: a spot from the widths of craters."""
