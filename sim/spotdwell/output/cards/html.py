"""Test-shot card as one HTML file without links, to be printed: the sheets, words and marks of the PDF."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from html import escape
from pathlib import Path

from spotdwell.output.cards import words
from spotdwell.output.cards.card import Card, Shot
from spotdwell.output.cards.marks import scale_of, scale_text, shown_zones
from spotdwell.output.cards.sheets import ROW, sheets_of
from spotdwell.output.cards.style import STYLE
from spotdwell.output.cards.svg import key_svg, map_svg, mark_svg
from spotdwell.output.whole_file import whole_file

_DRAWN = ROW - 0.9
"""Room for a mark [mm]."""


def write_html(card: Card, path: str | os.PathLike[str]) -> None:
    """Write `card` to `path`, whole or not at all. Raises RunError where it cannot be written."""
    with whole_file(Path(path)) as temporary:
        temporary.write_text(html(card), encoding="utf-8")


def html(card: Card) -> str:
    """The page."""
    sheets = sheets_of(card)
    body = "\n".join(_sheet(card, sheets, number) for number in range(len(sheets)))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(words.title(card))}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n"
        f"{body}\n</body>\n</html>\n"
    )


def _sheet(card: Card, sheets: Sequence[Sequence[Shot]], number: int) -> str:
    shots = sheets[number]
    count = f"<small>sheet {number + 1} of {len(sheets)}</small>" if len(sheets) > 1 else ""
    notes = "".join(f"<p>{escape(line)}</p>" for line in words.notes(card, shots))
    return "\n".join(
        [
            '<section class="sheet">',
            f"<header><h1>{escape(words.title(card))}</h1>{count}"
            '<p class="who">Date <span></span> By <span></span></p></header>',
            f'<div class="cautions"><h2>{words.HEAD}</h2>{_lines(words.cautions(card))}</div>',
            f'<div class="setup"><div>{_lines(words.set_up(card))}</div>{map_svg(card, shots)}</div>',
            _shots(card, shots),
            _compared(card, shots) if card.tissue is not None else "",
            f'<div class="notes">{notes}</div>',
            f"<footer>{escape(words.footer(card))}</footer>",
            "</section>",
        ]
    )


def _lines(lines: Sequence[tuple[str, str]]) -> str:
    return "".join(f"<p><b>{escape(head)}</b> {escape(text)}</p>" for head, text in lines)


def _shots(card: Card, shots: Sequence[Shot]) -> str:
    """The table of shots."""
    heads = [*words.SHOT_HEADS, *words.SEEN_HEADS]
    parts = zip((5, 4, 4), words.PARTS, strict=True)
    top = "".join(f'<th colspan="{wide}" scope="colgroup">{escape(text)}</th>' for wide, text in parts)
    second = "".join(f'<th scope="col">{escape(head).replace(chr(10), "<br>")}</th>' for head in heads)
    columns = "".join(f'<col style="width:{wide:.3g}%">' for wide in _WIDTHS)
    return (
        f'<table class="shots"><colgroup>{columns}</colgroup><thead><tr class="parts">{top}</tr>'
        f"<tr>{second}</tr>{_key(card)}</thead><tbody>{''.join(_rows(card, shots))}</tbody></table>"
    )


_WIDTHS = (4.3, 5.3, 7.5, 8.7, 8.1, 6.4, 10.8, 9.0, 10.9, 8.7, 7.6, 5.5, 7.2)
"""Of the columns of the table of shots [%]."""
_COMPARED = (22.6, 8.8, 8.8, 7.0, 8.6, 8.6, 8.6, 8.6, 8.6, 9.8)
"""Of those of the second table [%]."""


def _key(card: Card) -> str:
    """Which ring is what, and how large they are drawn."""
    zones = "".join(f"<span>{key_svg(paint)} {paint.name}</span>" for paint in shown_zones(card))
    scale = f"<i>Marks drawn {scale_text(scale_of(card, _DRAWN))}</i>" if zones else ""
    return f'<tr class="key"><td colspan="13">{zones}{scale}</td></tr>'


def _rows(card: Card, shots: Sequence[Shot]) -> Iterator[str]:
    group = None
    for at, shot in enumerate(shots):
        if shot.group != group:
            group = shot.group
            line = card.groups[group]
            more = " (goes on)" if shot.column > 1 else ""
            text = escape(f"{line.letter}{more}   {line.heading}")
            yield f'<tr class="group"><th colspan="13" scope="rowgroup">{text}</th></tr>'
        yield f"<tr>{_set_cells(card, shots, at)}{_predicted(card, shot)}{'<td class=blank></td>' * 4}</tr>"


def _set_cells(card: Card, shots: Sequence[Shot], at: int) -> str:
    bold = words.changed(card, shots, at)
    number, place, power, dwell, spot, dial = words.shot_cells(card, shots[at])
    cells = [f'<td class="number">{number}</td>', f'<td class="place">{escape(place)}</td>']
    for name, text, second in (("power", power, ""), ("dwell", dwell, ""), ("spot", spot, dial)):
        cells.append(f"<td{' class=changed' if name in bold else ''}>{_two(text, second)}</td>")
    return "".join(cells)


def _predicted(card: Card, shot: Shot) -> str:
    mark = card.marks[shot.setting]
    if mark.failure:
        reason = f"<b>{words.NO_PREDICTION}</b><small>{words.WHY}</small>"
        return f'<td class="mark failed" colspan="4">{reason}</td>'
    cells = "".join(f"<td>{_two(main, second)}</td>" for main, second in words.mark_cells(mark))
    return f'<td class="mark">{mark_svg(mark, scale_of(card, _DRAWN), _DRAWN)}</td>{cells}'


def _two(main: str, second: str) -> str:
    return escape(main) + (f"<small>{escape(second)}</small>" if second else "")


def _compared(card: Card, shots: Sequence[Shot]) -> str:
    """The second table."""
    heads = words.compare_heads(card)
    top = "".join(f'<th colspan="{len(names)}">{escape(head)}</th>' for head, names in heads)
    second = "".join(f"<th>{escape(name)}</th>" for _, names in heads for name in names)
    columns = "".join(f'<col style="width:{wide:g}%">' for wide in _COMPARED)
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in words.compare_cells(card, setting))}</tr>"
        for setting in dict.fromkeys(shot.setting for shot in shots)
    )
    return (
        f"<h2>{escape(words.compare_title(card))}</h2>\n"
        f'<table class="compared"><colgroup>{columns}</colgroup><thead><tr>{top}</tr>'
        f"<tr>{second}</tr></thead><tbody>{body}</tbody></table>"
    )
