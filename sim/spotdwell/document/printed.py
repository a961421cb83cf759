"""Documents as text: one HTML file that fetches nothing, and Markdown with its pictures beside it."""

from __future__ import annotations

import re
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from spotdwell.document.model import Document, Drawing, Picture, blocks_in
from spotdwell.output.pictures.canvas import svg_of
from spotdwell.output.whole_file import whole_file

if TYPE_CHECKING:
    from jinja2 import Environment


def write_html(document: Document, path: Path) -> None:
    """Write `document` to `path`, whole or not at all. Raises RunError where it cannot be written."""
    _write(html(document), path)


def write_markdown(document: Document, path: Path) -> None:
    """Write `document` to `path` and the pictures that have a file beside it, each whole or not at all.

    Raises RunError where one cannot be written.
    """
    for block in blocks_in(document):
        if isinstance(block, Picture) and block.file:
            _write(_svg(document.type_size, block.drawing), path.parent / block.file)
    _write(markdown(document), path)


def html(document: Document) -> str:
    """The document as one HTML file: style and drawings inside, nothing fetched."""
    return _printed(document, "document.html")


def markdown(document: Document) -> str:
    """The document as Markdown."""
    return re.sub(r"\n{3,}", "\n\n", _printed(document, "document.md")).strip() + "\n"


def _printed(document: Document, template: str) -> str:
    environment = _environment(template.endswith(".html"))
    drawn = partial(_inline, document.type_size)
    return environment.get_template(template).render(document=document, svg=drawn)


@lru_cache
def _environment(escapes: bool) -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=escapes,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["kind"] = lambda block: type(block).__name__
    environment.filters["pipes"] = lambda text: text.replace("|", "\\|")
    return environment


@lru_cache(maxsize=256)
def _svg(type_size: float, drawing: Drawing) -> str:
    return svg_of(drawing.width, drawing.height, drawing.paint, type_size)


def _inline(type_size: float, drawing: Drawing, own_size: bool = True) -> Any:
    """A drawing as HTML takes it: no prologue, no metadata, no name-space addresses."""
    from markupsafe import Markup, escape

    svg = _svg(type_size, drawing)
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg[svg.index("<svg") :], flags=re.DOTALL)
    svg = re.sub(r'\sxmlns(:\w+)?="[^"]*"', "", svg).strip()
    if not own_size:
        svg = re.sub(r'\s(?:width|height)="[^"]*"', "", svg, count=2)
    words = f' role="img" aria-label="{escape(drawing.words)}"' if drawing.words else ""
    return Markup(svg.replace("<svg", f"<svg{words}", 1))


def _write(text: str, path: Path) -> None:
    with whole_file(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
