"""Regimes: pulse trains compared."""
