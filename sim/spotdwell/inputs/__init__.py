"""Scenario and material files: reading, checking, and turning them into a problem."""
