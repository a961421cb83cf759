"""Verdict: one word of the trade for a result, always with the numbers that led to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from spotdwell.base.names import BELOW_GRID, GRID_CRATER, GRID_NONE, MEASURES

Measures = Mapping[str, float | None]


class Word(StrEnum):
    """What became of the target."""

    UNMARKED = "unmarked"
    DRIED = "dried"
    COAGULATED = "coagulated"
    SCORCHED = "scorched"
    """Charred, and nothing removed."""
    CHARRED = "charred"
    """Removed, with more char left than the limit."""
    CLEAN = "clean"
    UNVERIFIED = "unverified"
    """Removed within the limits, but beside a wall that measurements contradict or never saw."""
    PERFORATED = "perforated"
    TOO_DEEP = "too deep"


RIM_ALLOWANCE = 1.25
"""Char allowed at the rim over that at floor and wall [-]: it is read along the surface, to a column."""


@dataclass(frozen=True)
class Limits:
    """What the user still accepts."""

    char_thickness: float = 52e-6
    """Most char at the floor or the wall [m]; at the rim `RIM_ALLOWANCE` times as much.

    Chosen so that moist tissue reads clean after 60 W for 0.1 s on 2.5 to 3 mm (40 to 47 um of char at the
    wall) and charred on 4 mm, where the spot is too large for the power (57 to 58 um). Common practice, no
    source.
    """
    depth: float | None = None
    """Deepest wanted crater [m], or None."""
    aspect_ratio: float = 2.0
    """Most depth over width [-]: walls of a deeper hole reflect and guide the beam, which is not modelled."""


@dataclass(frozen=True)
class Verdict:
    """A word, the sentences that led to it, and the limits that they name."""

    word: Word
    reasons: tuple[str, ...]
    limits: Limits

    @property
    def is_borderline(self) -> bool:
        """Whether the grid's own error could turn the word into another."""
        return any(reason.startswith(_NEAR) for reason in self.reasons)

    @property
    def text(self) -> str:
        """The word, and whether it is borderline."""
        return f"{self.word}, borderline" if self.is_borderline else str(self.word)


_NEAR = "Borderline: "


def verdict_of(measures: Measures, limits: Limits) -> Verdict:
    """Verdict on `measures`, the dict of `measure.summary.measures_of`.

    The first that holds: perforated, too deep, charred, unverified, clean, scorched, coagulated, dried,
    unmarked. A last sentence says what lies so near its limit that the grid's error could change the word.
    """
    findings = (
        (Word.PERFORATED, _perforated(measures)),
        (Word.TOO_DEEP, _too_deep(measures, limits)),
        (Word.CHARRED, _charred(measures, limits)),
        (Word.UNVERIFIED, _unverified(measures)),
        (Word.CLEAN, _clean(measures, limits)),
        (Word.SCORCHED, _scorched(measures)),
        (Word.COAGULATED, _coagulated(measures)),
        (Word.DRIED, _dried(measures)),
        (Word.UNMARKED, [f"{_nothing(measures)}, charred or coagulated."]),
    )
    word, reasons = next((word, reasons) for word, reasons in findings if reasons)
    return Verdict(word, (*reasons, *_near(word, measures, limits)), limits)


@dataclass(frozen=True)
class _Edge:
    """A value beside its limit [SI], and what the grid may err by."""

    name: str
    value: float
    limit: float
    error: float

    @property
    def over(self) -> bool:
        return self.value > self.limit

    @property
    def near(self) -> bool:
        return abs(self.value - self.limit) <= self.error


def _edges(word: Word, measures: Measures, limits: Limits) -> list[_Edge]:
    """Each value that has a limit, as `word` was found."""
    deepest, width = _amount(measures, "deepest"), _amount(measures, "crater_width")
    depth = [] if limits.depth is None else [("depth", deepest, limits.depth, GRID_CRATER * deepest)]
    if width > 0.0:
        ratio = deepest / width
        depth.append(("depth over width", ratio, limits.aspect_ratio, 2.0 * GRID_CRATER * ratio))
    char = [
        (f"char at the {place}", value, limit, _error(measures, f"char_thickness_{place}"))
        for place, value, limit in _char(measures, limits)
    ]
    least, wall = measures["trusted_wall"], "coagulation_thickness_wall"
    trust = [] if not least else [("coagulated wall", _amount(measures, wall), least, _error(measures, wall))]
    chosen = {Word.TOO_DEEP: depth, Word.CHARRED: char, Word.UNVERIFIED: trust}
    return [_Edge(*one) for one in chosen.get(word, depth + char + trust if word is Word.CLEAN else [])]


def _near(word: Word, measures: Measures, limits: Limits) -> list[str]:
    """What could turn `word` into another: one limit nearly passed, or all that were passed just so."""
    edges = _edges(word, measures, limits)
    if word in (Word.TOO_DEEP, Word.CHARRED):
        edges = [one for one in edges if one.over]
        if not all(one.near for one in edges):
            return []
    names = [one.name for one in edges if one.near]
    if not names:
        return []
    return [f"{_NEAR}the {' and the '.join(names)} lies within the grid's error of its limit."]


def _perforated(measures: Measures) -> list[str]:
    time = measures["perforation_time"]
    return [] if time is None else [f"The target was cut through {_time(time)} after the start."]


def _too_deep(measures: Measures, limits: Limits) -> list[str]:
    deepest, width = _amount(measures, "deepest"), _amount(measures, "crater_width")
    reasons = []
    if limits.depth is not None and deepest > limits.depth:
        reasons.append(
            f"The deepest point, {_measure(measures, 'deepest')}, is below the wanted depth of "
            f"{_length(limits.depth)}."
        )
    if width > 0.0 and deepest > limits.aspect_ratio * width:
        reasons.append(
            f"The depth of {_measure(measures, 'deepest')} is {deepest / width:.2g} times the width of "
            f"{_measure(measures, 'crater_width')}, "
            f"over the limit of {limits.aspect_ratio:g}: beyond it walls reflect the beam, which the model "
            "leaves out."
        )
    return reasons


def _charred(measures: Measures, limits: Limits) -> list[str]:
    if not _removed(measures):
        return []
    return [
        f"The char at the {place} is over its limit, {_layer(measures, 'char', place)} of {_length(limit)}."
        for place, thickness, limit in _char(measures, limits)
        if thickness > limit
    ]


def _scorched(measures: Measures) -> list[str]:
    if _amount(measures, "char_volume") == 0.0:
        return []
    return [f"Char was left, {_layer(measures, 'char', 'floor')} deep on the axis, and nothing was removed."]


def _unverified(measures: Measures) -> list[str]:
    """Why the coagulated wall of a crater is not to be trusted (THEORY.md, Trust)."""
    if not _removed(measures):
        return []
    least, wall = measures["trusted_wall"], measures["coagulation_thickness_wall"]
    place = "floor" if wall is None else "wall"
    wall = _amount(measures, "coagulation_thickness_floor") if wall is None else wall
    shown = _layer(measures, "coagulation", place)
    if least is not None and wall >= least:
        return []
    removed = f"Material was removed to a depth of {_measure(measures, 'deepest')}"
    if least is None:
        return [
            f"{removed}, but no measurement of a wall beside such a laser is known: the {shown} of "
            f"coagulation computed at the {place} is not to be trusted."
        ]
    return [
        f"{removed}, but the {shown} of coagulation computed at the {place} is less than half of "
        f"what was measured beside such lasers ({_length(2.0 * least)} and more): it is not to be trusted."
    ]


def _clean(measures: Measures, limits: Limits) -> list[str]:
    if not _removed(measures):
        return []
    return [f"Material was removed to a depth of {_measure(measures, 'deepest')}."] + [
        f"The char at the {place} is within its limit, {_layer(measures, 'char', place)} of {_length(limit)}."
        for place, _, limit in _char(measures, limits)
    ]


def _coagulated(measures: Measures) -> list[str]:
    floor = _amount(measures, "coagulation_thickness_floor")
    rim = _amount(measures, "coagulation_thickness_rim")
    if max(floor, rim) == 0.0:
        return []
    depth = _layer(measures, "coagulation", "floor")
    return [f"{_nothing(measures)}; coagulation reaches {depth} deep on the axis."]


def _dried(measures: Measures) -> list[str]:
    if max(_amount(measures, "dried_thickness_floor"), _amount(measures, "dried_thickness_rim")) == 0.0:
        return []
    depth = _layer(measures, "dried", "floor")
    return [f"{_nothing(measures)}; it is dried {depth} deep on the axis."]


def _nothing(measures: Measures) -> str:
    """Says that no solid was removed, and whether liquid was."""
    if _amount(measures, "deepest") > 0.0:
        return "Only liquid on the surface boiled off; nothing was removed"
    return "Nothing was removed"


def _char(measures: Measures, limits: Limits) -> list[tuple[str, float, float]]:
    """Places where a char thickness was measured, with it and its limit [m]."""
    most = limits.char_thickness
    places = (("floor", most), ("wall", most), ("rim", RIM_ALLOWANCE * most))
    values = [(place, measures[f"char_thickness_{place}"], limit) for place, limit in places]
    return [(place, value, limit) for place, value, limit in values if value is not None]


def _removed(measures: Measures) -> bool:
    """Whether solid material was removed, more of it than the grid tells from none.

    A film of water that boiled off leaves no mark.
    """
    least = GRID_NONE * (measures.get("cell_depth") or 0.0)
    return _amount(measures, "solid_volume") > 0.0 and _amount(measures, "deepest") > least


def _amount(measures: Measures, name: str) -> float:
    """A measure, with nothing to measure read as 0."""
    return measures[name] or 0.0


def _error(measures: Measures, name: str) -> float:
    return MEASURES[name].grid_error(_amount(measures, name), measures.get("cell_depth"))


def _measure(measures: Measures, name: str) -> str:
    """A length among the measures, with the digits that the grid gives."""
    text = MEASURES[name].text(_amount(measures, name), measures.get("cell_depth"))
    if text == BELOW_GRID:
        return "less than the grid tells"
    return f"{float(text) / 1e3:g} mm" if _amount(measures, name) >= 1e-3 else f"{text} um"


def _layer(measures: Measures, zone: str, place: str) -> str:
    return _measure(measures, f"{zone}_thickness_{place}")


def _length(value: float) -> str:
    return f"{value * 1e3:.4g} mm" if value >= 1e-3 else f"{value * 1e6:.4g} um"


def _time(value: float) -> str:
    return f"{value:.4g} s" if value >= 1.0 else f"{value * 1e3:.4g} ms"
