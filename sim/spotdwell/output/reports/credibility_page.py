"""Pages: headings, words, tables and pictures, as Markdown and as one HTML file without links."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape


@dataclass(frozen=True)
class Words:
    """A paragraph; `strong` sets it apart."""

    text: str
    strong: bool = False


@dataclass(frozen=True)
class Points:
    """A list."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Grid:
    """A table; `numeric` are the columns set to the right, `flagged` the rows that miss their goal.

    A row of one cell names the rows under it.
    """

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[int, ...] = ()
    flagged: tuple[int, ...] = ()


@dataclass(frozen=True)
class Drawing:
    """A picture: SVG text for the HTML, and the file beside the Markdown that holds it."""

    caption: str
    file: str
    svg: str


Block = Words | Points | Grid | Drawing


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it; `level` 2 is a chapter, 3 a part of one."""

    title: str
    blocks: tuple[Block, ...]
    level: int = 2
    kind: str = ""
    """By which a page's own style finds it; empty for none."""


@dataclass(frozen=True)
class Page:
    """The document."""

    title: str
    sections: tuple[Section, ...]


def markdown(page: Page) -> str:
    """The page as Markdown."""
    parts = [f"# {page.title}"]
    for section in page.sections:
        parts += [f"{'#' * section.level} {section.title}", *map(_markdown_block, section.blocks)]
    return "\n\n".join(parts) + "\n"


def _markdown_block(block: Block) -> str:
    match block:
        case Words(text, strong):
            return f"> **{text}**" if strong else text
        case Points(lines):
            return "\n".join(f"* {line}" for line in lines)
        case Drawing(caption, file, _):
            return f"![{caption}]({file})"
        case Grid(headings, rows, numeric, _):
            rule = ["---:" if place in numeric else "---" for place in range(len(headings))]
            named = (row if len(row) > 1 else (f"**{row[0]}**",) for row in rows)
            return "\n".join(_pipes(row, len(headings)) for row in (headings, rule, *named))


def _pipes(cells: Sequence[str], columns: int) -> str:
    filled = [*cells, *[""] * (columns - len(cells))]
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in filled) + " |"


def html(page: Page, style: str = "") -> str:
    """The page as one HTML file: style and pictures inside, nothing fetched.

    `style` adds to the common one.
    """
    body = "\n".join(_html_section(section) for section in page.sections)
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(page.title)}</title>\n<style>\n{_STYLE}{style}</style>\n</head>\n<body>\n<main>\n"
        f"<h1>{escape(page.title)}</h1>\n{body}\n</main>\n</body>\n</html>\n"
    )


def _html_section(section: Section) -> str:
    heading = f"<h{section.level}>{escape(section.title)}</h{section.level}>"
    opened = f'<section class="{section.kind}">' if section.kind else "<section>"
    return "\n".join([opened, heading, *map(_html_block, section.blocks), "</section>"])


def _html_block(block: Block) -> str:
    match block:
        case Words(text, strong):
            return f'<p class="strong">{escape(text)}</p>' if strong else f"<p>{escape(text)}</p>"
        case Points(lines):
            return "<ul>\n" + "\n".join(f"<li>{escape(line)}</li>" for line in lines) + "\n</ul>"
        case Drawing(caption, _, svg):
            return f"<figure>\n{_inline(svg)}\n<figcaption>{escape(caption)}</figcaption>\n</figure>"
        case Grid(headings, rows, _, flagged):
            head = _html_row("th", headings, block)
            body = "\n".join(_html_row("td", row, block, place in flagged) for place, row in enumerate(rows))
            return f"<table>\n<thead>\n{head}\n</thead>\n<tbody>\n{body}\n</tbody>\n</table>"


def _html_row(tag: str, cells: Sequence[str], table: Grid, flagged: bool = False) -> str:
    if len(cells) == 1:
        return f'<tr class="group"><td colspan="{len(table.headings)}">{escape(cells[0])}</td></tr>'
    opened = '<tr class="miss">' if flagged else "<tr>"
    texts = (
        f"<{tag}{' class=number' if place in table.numeric else ''}>{escape(cell)}</{tag}>"
        for place, cell in enumerate(cells)
    )
    return f"{opened}{''.join(texts)}</tr>"


def _inline(svg: str) -> str:
    """SVG as HTML takes it: no prologue, no metadata, no name-space addresses, and as wide as the text."""
    drawing = svg[svg.index("<svg") :]
    drawing = re.sub(r"<metadata>.*?</metadata>", "", drawing, flags=re.DOTALL)
    return re.sub(r'\sxmlns(:\w+)?="[^"]*"', "", drawing).strip()


_STYLE = """\
:root { color: #1a1a1a; background: #ffffff; font: 15px/1.5 Georgia, "DejaVu Serif", serif; }
body { margin: 0; }
main { max-width: 58rem; margin: 0 auto; padding: 2rem 1.25rem 4rem; }
h1, h2, h3 { line-height: 1.2; font-weight: 600; break-after: avoid; }
h1 { font-size: 1.9rem; margin: 0 0 1rem; }
h2 { font-size: 1.35rem; margin: 2.6rem 0 0.6rem; padding-top: 0.5rem; border-top: 2px solid #1a1a1a; }
h3 { font-size: 1.08rem; margin: 1.8rem 0 0.4rem; }
p { margin: 0.5rem 0 0.8rem; max-width: 44rem; }
p.strong { padding: 0.7rem 0.9rem; border: 1.5px solid #8c1c13; font-weight: 600; max-width: none; }
ul { margin: 0.5rem 0 0.8rem; padding-left: 1.2rem; max-width: 44rem; }
li { margin: 0.25rem 0; }
table { border-collapse: collapse; width: 100%; margin: 0.8rem 0 1.2rem; }
table { font-size: 0.82rem; line-height: 1.35; }
th, td { text-align: left; vertical-align: top; padding: 0.28rem 0.5rem; border-bottom: 1px solid #d6d6d6; }
thead { display: table-header-group; }
th { border-bottom: 1.5px solid #1a1a1a; font-weight: 600; vertical-align: bottom; }
.number { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; }
tr { break-inside: avoid; }
tr.group { break-after: avoid; }
tr.group td { font-weight: 600; padding-top: 0.8rem; border-bottom-color: #8a8a8a; }
tr.miss td { background: #f6e7e5; }
tr.miss td:first-child { border-left: 3px solid #8c1c13; }
figure { margin: 1rem 0 1.4rem; break-inside: avoid; }
figure svg { width: 100%; height: auto; display: block; }
figcaption { font-size: 0.82rem; color: #4a4a4a; margin-top: 0.3rem; }
@media print {
  :root { font-size: 10.5pt; }
  main { max-width: none; padding: 0; }
  tr.miss td { print-color-adjust: exact; }
}
@page { margin: 18mm 16mm; }
"""
