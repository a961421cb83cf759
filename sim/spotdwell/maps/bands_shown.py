"""Intervals of a map on the screen and in JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rich.console import RenderableType
from rich.text import Text

from spotdwell.base.names import MEASURES
from spotdwell.base.units import chosen
from spotdwell.console.text import heading, indented, plain_table
from spotdwell.maps.bands import WORDS, Bands
from spotdwell.maps.choice import number_of
from spotdwell.maps.cube import Cube
from spotdwell.measure.interval import LEVEL, LEVEL_WORDS
from spotdwell.output.tables import ends_text

ODDS_TITLE = "In how many of 10 draws the verdict is the same"
ODDS_KEY = "= in all, ? not known"


def along(cube: Cube, heads: Mapping[str, str]) -> list[RenderableType]:
    """A line for each value of the only axis: share of draws with its verdict, ends of `heads`, if any."""
    if cube.bands is None:
        return []
    axis = cube.axes[0]
    name = f"{axis.name} [{axis.unit}]" if axis.unit else axis.name
    table = plain_table((name, "right"), ("verdict", "right"), *((head, "right") for head in heads.values()))
    shares = cube.bands.share_of(cube.word)
    values: Sequence[float | str] = axis.values
    for at, value in enumerate(values):
        found = cube.interval((at,))
        ends = {} if found is None else found.measures
        share = percent_of(float(shares[at]))
        table.add_row(number_of(axis, value), share, *(_ends(cube, at, one, ends) for one in heads))
    return [Text(), heading(f"{LEVEL_WORDS}s [{chosen('m', 'um')}]"), indented(table)]


def _ends(cube: Cube, at: int, name: str, ends: Mapping[str, Any]) -> str:
    """Both ends; where the draws change nothing the value itself."""
    if (one := ends.get(name)) is None:
        return "-"
    return ends_text(MEASURES[name], one) or MEASURES[name].text(float(cube.measures[name][at]))


def percent_of(share: float) -> str:
    """Share of the draws with the same verdict; only all is 100 %."""
    return "-" if np.isnan(share) else f"{100 if share == 1.0 else min(99, round(100.0 * share))} %"


def tenths(shares: NDArray[np.float64]) -> NDArray[np.str_]:
    """Share of the draws with the same verdict as a sign: its tenths, rounded, or one of `ODDS_KEY`."""
    signs = np.full(shares.shape, "?", dtype="U1")
    for place in np.argwhere(~np.isnan(shares)):
        share = float(shares[tuple(place)])
        # Only all is all: what is left of it is not rounded away.
        signs[tuple(place)] = "=" if share == 1.0 else str(min(9, round(10.0 * share)))
    return signs


def bands_plain(bands: Bands, listed: Any) -> dict[str, Any]:
    """In SI, of types that JSON knows; `listed` makes lists of arrays."""
    return {
        "share": LEVEL,
        "draws": bands.draws,
        "low": {name: listed(values) for name, values in bands.low.items()},
        "high": {name: listed(values) for name, values in bands.high.items()},
        "verdicts": {word: listed(bands.shares[..., place]) for place, word in enumerate(WORDS)},
        "covers": bands.covers,
    }
