"""Spread: intervals from what is not known."""
