"""Sizes: the setting that reaches a depth within limits."""
