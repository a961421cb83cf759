"""Shots: run, show and keep one scenario."""
