"""Bench: optics, test shots and what measured shots say of a laser and a tissue."""
