"""Style: tones, hatches and type of the pictures, and how a figure becomes a file."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from spotdwell.base.errors import InputError
from spotdwell.base.units import significant
from spotdwell.output.record import Record
from spotdwell.output.whole_file import MAKER, whole_bytes

FORMATS = ("png", "svg", "pdf")
"""Picture formats, by a file's suffix."""


@dataclass(frozen=True)
class Tone:
    """How a zone is painted. Tones differ in lightness, so that they are told apart in grey too."""

    colour: str
    hatch: str = ""


TONES = {
    "air": Tone("#ffffff"),
    "liquid": Tone("#d3e6f3", "--"),
    "untouched": Tone("#eab9ac"),
    "coagulated": Tone("#d08a4a", ".."),
    "dried": Tone("#85512f", "////"),
    "charred": Tone("#1d1a1a"),
}
"""From the lightest to the darkest, which is also from the least to the most changed."""

INK, FAINT = "#1a1a1a", "#8a8a8a"
EDGE = "#5c5c5c"
"""Of a crater: paler than ink, or a thin line passes for char."""
BEAM = "#8c1c13"

CAUTION = (
    "Computed by a model, not measured: no ground for a treatment decision. "
    "Lasers burn and blind: follow IEC 60825-1, ANSI Z136.3, local rules and licensed practice."
)
"""Small print of every picture of a shot."""


@dataclass(frozen=True)
class Sheet:
    """What a picture is made for."""

    width: float
    """[in]."""
    height: float | None
    """[in]; None: as much as the picture needs."""
    most_height: float
    """Of a drawing in a picture of no fixed height [in]."""
    type_size: float
    """[pt]."""
    resolution: float
    """Of a png [1/in]."""

    @property
    def em(self) -> float:
        """Size of the type [in], in which margins and gaps are given."""
        return self.type_size / 72.0


SHEETS = {
    "column": Sheet(85.0 / 25.4, None, 3.0, 6.5, 600.0),
    "page": Sheet(170.0 / 25.4, None, 4.2, 8.0, 300.0),
    "slide": Sheet(9.6, 5.4, 5.4, 12.0, 200.0),
}
"""A journal's single column and full width, and a slide of 1920 x 1080 pixels."""
PAGE = SHEETS["page"]

_TYPE: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 8.5,
    "axes.linewidth": 0.7,
    "axes.labelcolor": INK,
    "axes.edgecolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "text.color": INK,
    "hatch.color": "#4a2c1a",
    "hatch.linewidth": 0.5,
    "svg.fonttype": "none",
    "svg.hashsalt": "spotdwell",
    "pdf.fonttype": 42,
    # Titles and names are foreign text: "$" in them is no formula.
    "text.parse_math": False,
}
_UNDATED: dict[str, dict[str, Any]] = {
    "svg": {"Date": None, "Creator": MAKER},
    "pdf": {"CreationDate": None, "Creator": MAKER},
    "png": {"Software": MAKER},
}
"""The same result gives the same picture to the byte, which says whose it is."""


def format_of(path: Path) -> str:
    """Picture format of `path` by its suffix. Raises InputError if there is none such."""
    suffix = path.suffix.lower().lstrip(".")
    if suffix not in FORMATS:
        known = ", ".join(f".{name}" for name in FORMATS)
        advice = f"Name it {path.stem}.png"
        raise InputError(str(path), f"a picture's suffix ({known})", f'"{path.suffix}"', advice)
    return suffix


def sheet_of(name: str) -> Sheet:
    """The sheet called `name`. Raises InputError if there is none such."""
    if name not in SHEETS:
        raise InputError("size", f"one of {', '.join(SHEETS)}", f'"{name}"', "Choose one of them.")
    return SHEETS[name]


def type_of(sheet: Sheet | None = None) -> dict[Any, Any]:
    """Settings of matplotlib for a picture, to be used in `matplotlib.rc_context`."""
    return _TYPE if sheet is None else _TYPE | {"font.size": sheet.type_size}


def draw_file(
    path: Path, paint: Callable[[Any], None], resolution: float = 200.0, sheet: Sheet | None = None
) -> None:
    """Let `paint` fill a new figure and write it to `path`, whole or not at all.

    A `sheet` sets the size of the type and, in place of `resolution` [1/in], the resolution.
    Raises InputError for an unknown suffix and RunError where the file cannot be written.
    """
    kind = format_of(path)
    from matplotlib import rc_context

    with rc_context(type_of(sheet)), whole_bytes(path) as temporary:
        figure = painted(paint, sheet)
        dots = resolution if sheet is None else sheet.resolution
        figure.savefig(temporary, format=kind, dpi=dots, metadata=_UNDATED[kind])


def painted(paint: Callable[[Any], None], sheet: Sheet | None = None) -> Any:
    """A new figure that `paint` has filled, with the type of `sheet`."""
    # Figures are made without pyplot: it would keep them, choose a window system and start slowly.
    from matplotlib import rc_context
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with rc_context(type_of(sheet)):
        figure = Figure(facecolor="white")
        FigureCanvasAgg(figure)
        paint(figure)
    return figure


_FILE = re.compile(r"(\S+\.(?:toml|csv|h5|hdf5|html?|pdf|png|svg|gif|mp4)\b)")


def typeset(text: str) -> str:
    """`text` with the signs that identifiers and keyboards lack: soft_tissue, 10 um, 1/e2, 5 J/mm3.

    The name of a file stays as it is.
    """
    parts = _FILE.split(text)
    return "".join(part if at % 2 else _with_signs(part) for at, part in enumerate(parts))


def _with_signs(text: str) -> str:
    for plain, signs in (
        ("_", " "),
        ("1/e2", "1/e²"),
        (" um", " µm"),
        ("mm3", "mm³"),
        ("mm2", "mm²"),
        ("degC", "°C"),
    ):
        text = text.replace(plain, signs)
    return text


def setting_line(result: Record) -> str:
    """The setting in one line; empty where the title is that already."""
    if not result.setting.get("title"):
        return ""
    return " · ".join(text for key, text in result.setting.items() if key != "title")


def length_unit(size: float) -> tuple[str, float]:
    """Unit in which lengths up to `size` [m] read well, and what to multiply them by."""
    return ("mm", 1e3) if size >= 1.5e-3 else ("µm", 1e6)


def length_text(length: float) -> str:
    """One length [m] with its unit, such as 614 µm or 1.42 mm."""
    unit, scale = ("mm", 1e3) if length >= 0.9995e-3 else ("µm", 1e6)
    return f"{significant(length * scale)} {unit}"
