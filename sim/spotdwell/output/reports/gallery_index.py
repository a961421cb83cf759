"""Index of a gallery: one page that shows and links what lies beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from spotdwell.output.pictures.style import CAUTION
from spotdwell.output.whole_file import whole_file

INDEX = "index.html"
_SHOWN = (".png", ".gif")


@dataclass(frozen=True)
class Item:
    """One file of a gallery."""

    file: str
    words: str
    """What it is, in a word or two."""


@dataclass(frozen=True)
class Shelf:
    """What belongs together in a gallery."""

    title: str
    about: str
    items: tuple[Item, ...]


def write_index(shelves: Sequence[Shelf], folder: Path) -> Path:
    """Write the index of the files that exist in `folder` and return its path. Raises RunError if refused."""
    body = "\n".join(_section(shelf, folder) for shelf in shelves)
    text = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Gallery of spotdwell</title>\n<style>\n{_STYLE}</style>\n</head>\n<body>\n"
        f"<h1>Gallery of spotdwell</h1>\n<p>{escape(CAUTION)}</p>\n{body}\n</body>\n</html>\n"
    )
    path = folder / INDEX
    with whole_file(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
    return path


def _section(shelf: Shelf, folder: Path) -> str:
    items = [item for item in shelf.items if (folder / item.file).is_file()]
    shown = [_picture(item) for item in items if item.file.endswith(_SHOWN)]
    links = " · ".join(f'<a href="{escape(item.file)}">{escape(item.words)}</a>' for item in items)
    return (
        f"<section>\n<h2>{escape(shelf.title)}</h2>\n<p>{escape(shelf.about)}</p>\n"
        f'<div class="row">\n{chr(10).join(shown)}\n</div>\n<p>{links or "not made yet"}</p>\n</section>'
    )


def _picture(item: Item) -> str:
    file, words = escape(item.file), escape(item.words)
    return f'<a href="{file}"><img src="{file}" alt="{words}" loading="lazy"></a>'


_STYLE = """\
body { max-width: 76rem; margin: 0 auto; padding: 1.5rem; font: 15px/1.45 Georgia, "DejaVu Serif", serif; }
body { color: #1a1a1a; background: #ffffff; }
h2 { font-size: 1.2rem; margin: 2rem 0 0.3rem; padding-top: 0.5rem; border-top: 2px solid #1a1a1a; }
p { margin: 0.3rem 0 0.6rem; max-width: 52rem; }
.row { display: flex; flex-wrap: wrap; gap: 0.8rem; align-items: flex-start; }
.row img { display: block; max-width: 100%; width: 23rem; border: 1px solid #d6d6d6; }
"""
