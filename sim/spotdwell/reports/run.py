"""The report of a run asked for: from a result or the file that keeps it, to its files."""

from __future__ import annotations

import os
from pathlib import Path

from spotdwell.base.errors import InputError
from spotdwell.output.result import Result
from spotdwell.output.store import load
from spotdwell.study.spread.uncertainty import Uncertainty


def report(
    result: Result | str | os.PathLike[str],
    html: str | os.PathLike[str] | None = None,
    pdf: str | os.PathLike[str] | None = None,
    uncertainty: Uncertainty | None = None,
) -> None:
    """Write the report of `result`, or of the result kept at that path, to the files `html` and `pdf`.

    `uncertainty` adds intervals; they should belong to the same scenario. Raises InputError if neither file
    is named or the path holds no result, and RunError where a file cannot be written.
    """
    from spotdwell.document.paper import write_pdf
    from spotdwell.document.printed import write_html
    from spotdwell.reports.document import document_of

    if html is None and pdf is None:
        raise InputError("report", "html, pdf or both", "neither", 'Name a file, such as html="spot.html"')
    document = document_of(result if isinstance(result, Result) else load(result), uncertainty)
    for path, write in ((html, write_html), (pdf, write_pdf)):
        if path is not None:
            write(document, Path(path))
