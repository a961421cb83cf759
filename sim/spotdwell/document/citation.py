"""How spotdwell is cited: one line, which every report ends with; CITATION.cff says the same."""

from __future__ import annotations

AUTHORS = "The spotdwell contributors"
TITLE = "spotdwell"
YEAR = 2026


def citation(version: str) -> str:
    """The line for a `version`, which must be the one that computed the numbers."""
    return f"Cite as: {AUTHORS} ({YEAR}). {TITLE}, version {version}. Software, BSD-3-Clause."
