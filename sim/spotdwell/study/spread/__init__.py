"""Spread: what the ranges of the material values make of a run."""
