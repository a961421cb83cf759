"""Notebook: a result as HTML, its section above its verdict and measures."""

from __future__ import annotations

from base64 import b64encode
from html import escape
from pathlib import Path
from tempfile import TemporaryDirectory

from spotdwell.output.pictures.plots import cross_section
from spotdwell.output.pictures.style import typeset
from spotdwell.output.record import Record
from spotdwell.output.tables import measure_rows

WIDTH = 640
"""Of the picture [px of the page]."""
CAUTION = "Computed by a model, not measured: no ground for a treatment decision."


def html_of(result: Record) -> str:
    """Section, verdict with its reasons, measures that apply, and notes; every text is escaped.

    Raises what drawing raises; nothing is left on the disk.
    """
    reasons = " ".join(result.verdict.reasons)
    rows = "".join(
        f'<tr><td style="text-align:left">{_text(row.meaning)}</td>'
        f'<td style="text-align:right">{_text(f"{row.value} {row.unit}")}</td></tr>'
        for row in measure_rows(result.measures)
    )
    notes = "".join(f"<li>{_text(note)}</li>" for note in result.notes)
    return (
        f'<div><img width="{WIDTH}" src="{_section(result)}" alt="{_text(_words(result))}">'
        f"<p><strong>{_text(str(result.verdict.word))}</strong>: {_text(reasons)}</p>"
        f"<table>{rows}</table>{f'<ul>{notes}</ul>' if notes else ''}<p><small>{CAUTION}</small></p></div>"
    )


def _section(result: Record) -> str:
    """The section as the address of a picture that holds itself."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "section.png"
        cross_section(result, path)
        return f"data:image/png;base64,{b64encode(path.read_bytes()).decode('ascii')}"


def _words(result: Record) -> str:
    return f"Section through the beam's axis: {result.title}; {result.verdict.word}"


def _text(text: str) -> str:
    return escape(typeset(text.strip()))
