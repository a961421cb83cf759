"""Parts of what is printed: headings, tables without lines, lists with dashes, lengths."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from spotdwell.base.names import Quantity
from spotdwell.base.units import display

SHOOTING = (
    "Shoot test craters with eye protection for the wavelength, behind barriers, with the plume extracted "
    "and nothing flammable near, under IEC 60825-1, ANSI Z136.3 and your local rules."
)


def heading(text: str) -> Text:
    """Heading of a section."""
    return Text(text, style="bold")


def section(title: str, *bodies: RenderableType) -> list[RenderableType]:
    """An empty line, a heading, and the bodies under it."""
    return [Text(), heading(title), *map(indented, bodies)]


def indented(body: RenderableType, by: int = 2) -> Padding:
    """The body further to the right."""
    return Padding(body, (0, 0, 0, by))


def plain_table(*columns: tuple[str, str]) -> Table:
    """Table without lines, from (heading, "left" or "right") columns: it stays readable in a file."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="")
    for title, side in columns:
        table.add_column(title, justify="right" if side == "right" else "left")
    return table


def value_table(rows: Iterable[tuple[str, ...]], wraps: int = 2) -> Table:
    """Names, values and what follows them, without headings; only the column number `wraps` does."""
    table = Table.grid(padding=(0, 2, 0, 0))
    for number, side in enumerate(("left", "right", "left")):
        table.add_column(justify="right" if side == "right" else "left", no_wrap=number != wraps)
    for row in rows:
        table.add_row(*row)
    return table


def bullets(lines: Iterable[str]) -> Table:
    """Lines with a dash before each, whose rest stays indented where they wrap."""
    table = Table.grid(padding=(0, 1, 0, 0))
    for line in lines:
        table.add_row("-", Text(line))
    return table


def shown(quantity: Quantity, value: float | None, cell: float | None = None) -> str:
    """`value` [SI] in the display unit, with the digits that cells `cell` [m] high give; "-" for None."""
    return "-" if value is None else quantity.text(value, cell)


def unit_text(quantity: Quantity) -> str:
    """Its display unit; empty for a plain number."""
    return "" if quantity.display_unit == "1" else quantity.display_unit


def length(value: float) -> str:
    """A length [m] with its unit, um below a millimetre."""
    return display(value, "m", "um" if value < 1e-3 else "mm")


def microns(value: float) -> str:
    """A length [m] with its unit, always um."""
    return display(value, "m", "um")
