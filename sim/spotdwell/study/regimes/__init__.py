"""Regimes: ways to send the same light, compared."""
