"""Plots of bench measurements."""
