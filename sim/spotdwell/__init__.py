"""Simulates what a surgical laser does to tissue from power, spot and dwell time."""
