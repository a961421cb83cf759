"""Words of a test-shot card: cautions, how to set up, and the texts of its tables."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from spotdwell.base.units import display, significant
from spotdwell.cards.card import DEEP, Mark, Plan, Shot
from spotdwell.document.quantities import ABSENT
from spotdwell.document.quantities import setting_text as as_set
from spotdwell.measure.verdict import Word
from spotdwell.output.pictures.style import length_text, typeset

HEAD = "Lasers burn and blind"
UNKNOWN = "?"
"""In the second table for what there is no prediction of."""
NO_PREDICTION, WHY = "no prediction", "reason below the tables"
_LONGEST = 60
"""Letters of a laser's title."""

PARTS = "Set (bold: change it)", "Predicted", "Seen: fill in"
SHOT_HEADS = (
    "Shot",
    "Place",
    "Power",
    "Dwell",
    "Spot",
    "Seen from above",
    "Crater across",
    "Depth",
    "Look",
)
SEEN_HEADS = ("Crater across", "Depth", "Char yes / no", "Note")


def title(card: Plan) -> str:
    """Of the card."""
    return card.title or f"Test shots on {_inside(card.bench.title)}"


def cautions(card: Plan) -> tuple[tuple[str, str], ...]:
    """What to mind, each under a word."""
    wavelength = as_set(card.wavelength, "m")
    vapour = (
        " Acrylic gives off vapour that is harmful to breathe and burns: never without extraction."
        if card.bench.name == "pmma"
        else ""
    )
    return (
        (
            "Eyes",
            f"eyewear marked for {wavelength} on everybody in the room. Doors shut, no mirrors or bare metal "
            "in or behind the beam.",
        ),
        ("Smoke", f"extract it at the target, filtered; no fire or gas near.{vapour}"),
        (
            "Fire",
            "wet, dull background that the beam cannot light; oxygen off; extinguisher and water at hand. "
            "Watch the target until it is cold.",
        ),
        (
            "Order",
            "as printed, little to much; beam off between shots. Stop if a mark is larger than foreseen.",
        ),
        (
            "No treatment decisions",
            "the figures come from a model, and a bench target is not tissue.",
        ),
        ("Rules", "IEC 60825-1, ANSI Z136.3, your local rules and laser safety officer go before this card."),
    )


def set_up(card: Plan) -> tuple[tuple[str, str], ...]:
    """How the piece and the laser are made ready, each under a word."""
    width, height = (as_set(one, "m") for one in card.piece)
    thickness = "" if card.thickness is None else f", at least {as_set(card.thickness, 'm')} thick"
    wait = "until it is cold" if card.wait is None else f"at least {as_set(card.wait, 's')}"
    # A file is called as it is called: its name is no text to be typeset.
    laser = textwrap.shorten(card.laser, _LONGEST, placeholder=" ...")
    lines = [
        ("Laser", f"{laser + ', ' if laser else ''}{typeset(card.beam)}"),
        (
            "Target",
            f"{card.bench.title} at {_celsius(card.bench.temperature)}{thickness}; places take "
            f"{width} by {height}",
        ),
        (
            "Places",
            f"{as_set(card.pitch, 'm')} from centre to centre, so that no shot meets the heat of another; as "
            "far from the edge",
        ),
        ("Pause", f"{wait} between shots"),
    ]
    if any(one.on_target != one.power for one in card.settings):
        share = card.settings[0].on_target / card.settings[0].power
        lines.insert(1, ("Power", f"as set; {100.0 * share:.3g} % of it is reckoned to arrive"))
    return tuple(lines)


def mark_cells(mark: Mark) -> tuple[tuple[str, str], ...]:
    """Crater's width, depth and look, each with a second, smaller line; not for a mark that failed."""
    across, depth = _thickness(mark.width), _thickness(mark.depth)
    whole = f"mark {length_text(mark.seen)}" if mark.seen > mark.width else ""
    deep = "deep hole*" if mark.is_deep else ""
    char = f"char {_thickness(mark.char)}" if mark.char is not None else ""
    return (across, whole), (depth, deep), (mark.word, char)


def changed(card: Plan, shots: Sequence[Shot], at: int) -> frozenset[str]:
    """Which of power, dwell and spot differ from the shot before, to be set in bold; all for the first."""
    now = card.settings[shots[at].setting]
    if shots[at].number == 1:
        return frozenset({"power", "dwell", "spot"})
    before = card.settings[card.shots[shots[at].number - 2].setting]
    return frozenset(one for one in ("power", "dwell", "spot") if getattr(now, one) != getattr(before, one))


def compare_title(card: Plan) -> str:
    """What the second table is for."""
    if card.tissue is None:
        return ""
    bench, tissue = card.bench, card.tissue
    return (
        f"A depth in {_inside(bench.title)} is not a depth in tissue: the same settings on "
        f"{_inside(tissue.title)} at {_celsius(tissue.temperature)}"
    )


def compare_heads(card: Plan) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Headings of the second table, each over its columns."""
    pair = card.bench.title, card.tissue.title if card.tissue else ""
    depth = "Depth", (*pair, "ratio")
    return ("Setting", ("",)), depth, ("Char", pair), ("Coagulated", pair), ("Look", pair)


def compare_cells(card: Plan, setting: int) -> tuple[str, ...]:
    """A line of the second table, as many cells as there are columns under `compare_heads`."""
    one, both = card.settings[setting], (card.marks[setting], card.on_tissue[setting])
    here, there = (mark.depth for mark in both)
    ratio = f"× {significant(there / here, 2)}" if here and there else ABSENT
    # Narrow: the position says what the spot is.
    short = f"{one.texts['power']}, {one.texts['dwell']}, "
    short += f"dial {one.dial}" if one.dial else one.texts["spot"]
    depths = (f"{_layer(mark, mark.depth)}{'*' if mark.is_deep else ''}" for mark in both)
    char = (_layer(mark, mark.char) for mark in both)
    coagulated = (_layer(mark, mark.coagulation) for mark in both)
    return (short, *depths, ratio, *char, *coagulated, *(mark.word or UNKNOWN for mark in both))


def notes(card: Plan, shots: Sequence[Shot]) -> tuple[str, ...]:
    """What stands under the tables of a sheet with these `shots`."""
    here = {shot.setting for shot in shots}
    lines = []
    if any(card.marks[one].is_deep or (card.on_tissue and card.on_tissue[one].is_deep) for one in here):
        lines.append(
            f"* Deeper than {DEEP:g} times its width: the walls reflect the beam, which is left out: depth "
            "and width are guesses."
        )
    lines.append(
        f"Clean: at most {as_set(card.char_limit, 'm')} of char at floor and wall. Char and coagulated: the "
        f"thickest layer there. {ABSENT} not modelled for this target."
    )
    words = {mark.word for one in here for mark in (card.marks[one], *card.on_tissue[one : one + 1])}
    if any(word.startswith(Word.UNVERIFIED) for word in words):
        lines.append(
            "Unverified: as clean, but less than half the coagulation was computed that was measured beside "
            "such lasers, or none was measured: expect more of it than is foreseen."
        )
    return tuple(lines + failure_lines(card, shots))


def failure_lines(card: Plan, shots: Sequence[Shot]) -> list[str]:
    """Why these `shots` have no prediction, a line for each reason."""
    reasons: dict[tuple[str, str], list[str]] = {}
    for shot in shots:
        if failure := card.marks[shot.setting].failure:
            reasons.setdefault((card.bench.title, failure), []).append(str(shot.number))
        if card.on_tissue and (failure := card.on_tissue[shot.setting].failure) and card.tissue:
            reasons.setdefault((card.tissue.title, failure), []).append(str(shot.number))
    found = []
    for (title, why), which in reasons.items():
        plural = "s" if len(which) > 1 else ""
        found.append(f"No prediction on {_inside(title)} for shot{plural} {', '.join(which)}: {why}.")
    return found


def foot(card: Plan) -> str:
    """What computed it."""
    return f"spotdwell {card.versions.get('spotdwell', '')}. Predictions are computed, not measured."


def _inside(title: str) -> str:
    """A title inside a sentence: "Acrylic (PMMA)" as "acrylic (PMMA)"."""
    return title[:1].lower() + title[1:]


def _layer(mark: Mark, thickness: float | None) -> str:
    if mark.failure:
        return UNKNOWN
    return ABSENT if thickness is None else _thickness(thickness)


def _thickness(thickness: float) -> str:
    return length_text(thickness) if thickness else "none"


def _celsius(temperature: float) -> str:
    return typeset(display(temperature, "K", "degC", 2))
