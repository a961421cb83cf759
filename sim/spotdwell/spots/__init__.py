"""Spots: from lens and distance."""
