"""Words of a comparison: one sentence that says what differs between regimes, or how little, and why."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from spotdwell.base import units
from spotdwell.exact import damage_temperature
from spotdwell.model.material import Medium
from spotdwell.output.result import Result
from spotdwell.regimes.request import Kind
from spotdwell.regimes.result import Comparison, Equal, Run

CHARRING_TIME = 1.0
"""A face is called hot enough to char where 63 % of its solids would in this time [s]: a choice."""
_SMALL = 5e-6
"""Difference of a thickness that is not worth a word [m]: half a cell or less of the automatic grid."""
_SMALL_SHARE = 0.1
"""The same over the larger thickness [-]."""


@dataclass(frozen=True)
class _Layer:
    """What is compared, at the floor and the wall."""

    verbs: tuple[str, str]
    """Of one and of many."""
    what: str
    measures: tuple[str, ...]

    def of(self, run: Run) -> float:
        """Thickness, the larger of both places [m]."""
        return max(run.measure(name) for name in self.measures)

    def brief(self, run: Run) -> str:
        """ "leaves up to 55 um"."""
        return f"{self.verbs[0]} {_amount(self.of(run)) or 'none'}"

    def whole(self, run: Run) -> str:
        """ "leaves up to 55 um of char at floor and wall"."""
        amount = _amount(self.of(run))
        return f"{self.verbs[0]} {f'{amount} of' if amount else 'no'} {self.what} at floor and wall"

    def range(self, runs: list[Run]) -> str:
        """ "leave 0 um to 20 um of char at floor and wall"."""
        values = [self.of(run) for run in runs]
        if max(values) == 0.0:
            return f"{self.verbs[1]} no {self.what} at floor and wall"
        ends = f"{1e6 * min(values):.0f} to {_length(max(values))}"
        return f"{self.verbs[1]} {ends} of {self.what} at floor and wall"


_CHAR = _Layer(("leaves", "leave"), "char", ("char_thickness_floor", "char_thickness_wall"))
_COAGULATION = _Layer(
    ("leaves", "leave"), "coagulation", ("coagulation_thickness_floor", "coagulation_thickness_wall")
)


def sentence_of(found: Comparison) -> str:
    """One sentence on `found`: char at floor or wall if there is any, else the coagulated layer."""
    removing = [run for run in found.runs if run.measure("crater_depth") > 0.0]
    start = f"At {found.terms.text}, "
    if len(removing) < 2:
        return start + _nothing_to_compare(found, removing)
    char_differs = not _is_small(_CHAR, removing)
    layer = _CHAR if char_differs else _COAGULATION
    if not char_differs and _is_small(_COAGULATION, removing):
        return f"{start}{_small(removing)}{_idle(found, removing)}."
    least = min(removing, key=lambda run: (layer.of(run), _COAGULATION.of(run)))
    rest = [run for run in removing if run is not least]
    base = next((run for run in rest if run.train.is_continuous), max(rest, key=layer.of))
    if _is_small(layer, [least, base]):
        base = max(rest, key=layer.of)
    start += "" if char_differs else f"the regimes {_CHAR.range(removing)}, but "
    turned = ", so pulses do not help here" if least.train.is_continuous else ""
    body = (
        f"{_the(least)} {layer.whole(least)} where {_the(base)} {layer.brief(base)}"
        f"{_depths(found, least, base)}{turned}"
        f"{_reason(found, layer, least, base)}{_worse(layer, base, rest)}"
    )
    return f"{start}{body}{_idle(found, removing)}."


def charring_temperature(medium: Medium) -> float | None:
    """Temperature [K] at which 63 % of the solids char in `CHARRING_TIME` (eq. J3), or None."""
    pyrolysis = medium.pyrolysis
    if pyrolysis is None or not pyrolysis.leaves_char:
        return None
    return float(damage_temperature(CHARRING_TIME, pyrolysis.frequency_factor, pyrolysis.activation_energy))


def hot_time(result: Result, temperature: float) -> float:
    """Time [s] for which the exposed face on the axis was at least at `temperature` [K]."""
    history = result.history
    hot = history.surface_temperature[1:] >= temperature
    return float(np.diff(history.time)[hot].sum())


def heat_lead(run: Run, medium: Medium) -> float:
    """How far heat runs ahead of the crater's front while the beam is on [m].

    The decay length alpha / v of a steady ablation front (Carslaw & Jaeger 1959, section 10.7), v its mean
    speed in the beam.
    """
    lit = run.train.on * run.train.count
    speed = run.measure("crater_depth") / lit
    return medium.conductivity / medium.heat_capacity / speed if speed > 0.0 else math.inf


def _reason(found: Comparison, layer: _Layer, least: Run, base: Run) -> str:
    """Why, if the numbers bear it out: time above charring, and how far heat leads the front."""
    limit = charring_temperature(found.medium) if layer is _CHAR else None
    lead, other = heat_lead(least, found.medium), heat_lead(base, found.medium)
    front = f"{_in_pulses(least)}heat runs {_length(lead)} ahead of its front against {_length(other)}"
    slower = lead >= other
    if limit is None:
        return f"{', although ' if slower else ', because '}{front}"
    brief, long = hot_time(least.result, limit), hot_time(base.result, limit)
    hot = (
        f"its floor was above {units.display(limit, 'K', 'degC')}, where tissue chars within a second, "
        f"for {_time(brief)} against {_time(long)}"
    )
    if brief >= long:
        return f", although {hot}, and {front}"
    return f", because {hot}{', although ' if slower else ': '}{front}"


def _in_pulses(run: Run) -> str:
    """What a pulse removes, beside the thermal relaxation time; nothing for a continuous beam."""
    train = run.train
    if train.is_continuous:
        return ""
    each = run.measure("crater_depth") / train.count
    relaxation = run.result.measures["thermal_relaxation_time"]
    beside = ""
    if relaxation:
        beside = f" ({_compared(train.on, relaxation)} the thermal relaxation time of {_time(relaxation)})"
    return f"each pulse of {_time(train.on)}{beside} removes {_length(each)}, and "


def _compared(time: float, other: float) -> str:
    if time < 0.5 * other:
        return "well within"
    return "about" if time <= 2.0 * other else "longer than"


def _worse(layer: _Layer, base: Run, rest: list[Run]) -> str:
    """Regimes that leave clearly more than what the best was compared with."""
    more = [run for run in rest if run is not base and not _is_small(layer, [run, base])]
    more = [run for run in more if layer.of(run) > layer.of(base)]
    return "".join(f"; {_the(run)} {layer.brief(run)}, more than that" for run in more)


def _is_small(layer: _Layer, runs: list[Run]) -> bool:
    values = [layer.of(run) for run in runs]
    return max(values) - min(values) <= max(_SMALL, _SMALL_SHARE * max(values))


def _small(removing: list[Run]) -> str:
    return (
        f"the regimes differ little: they {_CHAR.range(removing)} and {_COAGULATION.range(removing)}, "
        "no more apart than cells and material values leave open"
    )


def _depths(found: Comparison, least: Run, base: Run) -> str:
    """Both depths, unless they are what is equal."""
    if found.terms.equal is Equal.DEPTH:
        return ""
    one, other = (_length(run.measure("crater_depth")) for run in (least, base))
    return f" ({one} deep against {other})"


def _nothing_to_compare(found: Comparison, removing: list[Run]) -> str:
    if not removing:
        return "none of the regimes removes anything, so there are no craters to compare."
    only = removing[0]
    depth = _length(only.measure("crater_depth"))
    return f"only {_the(only)} removes anything: it gets {depth} deep and {_CHAR.whole(only)}."


def _idle(found: Comparison, removing: list[Run]) -> str:
    idle = [run for run in found.runs if run not in removing]
    return "".join(f"; {_the(run)} removes nothing" for run in idle)


def _the(run: Run) -> str:
    kind = run.train.regime.kind
    if run.name != kind:
        return f'the beam "{run.name}"'
    return "the short-pulsed beam" if kind is Kind.SHORT_PULSES else f"the {kind} beam"


def _amount(thickness: float) -> str:
    """Of a layer whose larger place it is; empty for none."""
    if thickness == 0.0:
        return ""
    return "under 1 um" if thickness < 1e-6 else f"up to {_length(thickness)}"


def _length(value: float) -> str:
    return units.display(value, "m", "um", 2 if value < 1e-3 else 3)


def _time(value: float) -> str:
    unit = "s" if value >= 0.1 or value == 0.0 else "ms" if value >= 1e-3 else "us"
    return units.display(value, "s", unit, 2)
