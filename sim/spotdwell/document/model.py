"""A document, block by block, as each printer reads it, with the cautions that all carry."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from spotdwell.output.pictures.canvas import Paint


@dataclass(frozen=True, eq=False)
class Drawing:
    """A drawing, painted by matplotlib."""

    width: float
    height: float
    paint: Paint
    words: str = ""
    """For who cannot see it; empty where a caption says it."""


@dataclass(frozen=True)
class Text:
    """A paragraph, after a `head` in bold."""

    text: str
    head: str = ""
    strong: bool = False
    """Set apart: a caution that nobody should miss."""
    small: bool = False


@dataclass(frozen=True)
class Points:
    """A list."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Picture:
    """A drawing as wide as the text, with its caption."""

    drawing: Drawing
    caption: str = ""
    least: float | None = None
    """Height to which paper may lower it for what stands on the same page, and raise it by as much."""
    file: str = ""
    """Beside a Markdown file that shows it."""
    own_size: bool = False
    """Not widened to the width of the text, and set to the right."""


@dataclass(frozen=True)
class Cell:
    """A place in a table."""

    text: str = ""
    small: str = ""
    """A second, smaller line."""
    bold: bool = False
    large: bool = False
    drawing: Drawing | None = None
    span: int = 1
    """Columns that it takes."""


@dataclass(frozen=True)
class Column:
    """A column of a table."""

    heading: str = ""
    align: str = "left"
    """left, right or center."""
    width: float = 0.0
    """[mm]; 0: as its texts ask."""
    rule: float = 0.0
    """Width of the line at its left [mm]; 0 for none."""


@dataclass(frozen=True)
class Row:
    """A row of a table."""

    cells: tuple[Cell, ...]
    heading: bool = False
    """Whether it names the rows under it."""
    flagged: bool = False
    """Whether it misses its goal."""


@dataclass(frozen=True)
class Table:
    """A table."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    over: tuple[tuple[str, int], ...] = ()
    """Headings over the columns' own, and how many columns each is over."""
    height: float = 0.0
    """Least height of a row."""
    framed: bool = False


@dataclass(frozen=True)
class Beside:
    """Blocks side by side; the left ones take `share` of the width."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    share: float


@dataclass(frozen=True)
class Frame:
    """Blocks in a heavy frame under a title."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Files:
    """Files beside the document: pictures are shown, all are linked by their words."""

    files: tuple[tuple[str, str], ...]
    """Name and words of each."""


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it; `level` 2 is a chapter, 3 a part of one, 4 a heading in small."""

    title: str
    blocks: tuple[Block, ...]
    level: int = 2


Block = Text | Points | Picture | Table | Beside | Frame | Files | Section


@dataclass(frozen=True)
class Document:
    """A document."""

    title: str
    sheets: tuple[tuple[Block, ...], ...]
    """Blocks; each sheet begins a new page on paper."""
    type_size: float = 9.0
    """On paper [pt]."""
    titled: bool = False
    """Whether each sheet begins with the title, rather than the first alone."""
    blanks: tuple[str, ...] = ()
    """What is to be filled in by hand beside the title."""
    foot: str = ""
    """Last line of every page."""


def table(
    headings: Sequence[str],
    rows: Sequence[Sequence[str]],
    numeric: Sequence[int] = (),
    flagged: Sequence[int] = (),
) -> Table:
    """A table of plain texts; `numeric` are the columns set to the right, `flagged` the rows that miss.

    A row of one text names the rows under it.
    """
    columns = tuple(Column(one, "right" if at in numeric else "left") for at, one in enumerate(headings))
    return Table(columns, tuple(_row(row, len(columns), at in flagged) for at, row in enumerate(rows)))


def _row(texts: Sequence[str], count: int, flagged: bool) -> Row:
    if len(texts) == 1 < count:
        return Row((Cell(texts[0], bold=True, span=count),), heading=True)
    return Row(tuple(map(Cell, texts)), flagged=flagged)


def blocks_in(document: Document) -> Iterator[Block]:
    """Every block, those inside others too, in order."""

    def inside(blocks: Sequence[Block]) -> Iterator[Block]:
        for block in blocks:
            yield block
            if isinstance(block, Section | Frame):
                yield from inside(block.blocks)
            elif isinstance(block, Beside):
                yield from inside((*block.left, *block.right))

    for sheet in document.sheets:
        yield from inside(sheet)


CAUTIONS = (
    "Eyes: protection for the wavelength for everybody in the room; CO2 light burns the cornea, and "
    "scattered light is enough.",
    "Smoke: extract it at the source and filter it; it holds toxic gases, particles and living cells.",
    "Fire: no flammable drapes, liquids or gases in the beam's reach; keep oxygen low; wet towels "
    "and water at hand.",
    "Rules: IEC 60825-1, ANSI Z136.3 for health care, and local rules; a trained and licensed person fires.",
    "Bench targets such as wood and acrylic burn and give off toxic fumes too: the same protection applies.",
    "No treatment decision rests on a model.",
)
