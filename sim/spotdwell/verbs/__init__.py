"""Verbs of the command line, one a file; what a verb needs is imported inside it, so that help is quick."""
