"""Calibration: what bench shots tell of spot and closure."""
