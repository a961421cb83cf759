"""Scans: whole patterns under a moving beam, as a slice across the lines or as a block."""
