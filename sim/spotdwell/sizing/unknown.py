"""Unknown: which of power, spot and dwell is sought, its bounds, and where the search for it starts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from spotdwell.base import units
from spotdwell.base.errors import InputError
from spotdwell.exact.crater import exposure_for_depth
from spotdwell.inputs.build import beam_of, target_of
from spotdwell.inputs.schema import Scenario
from spotdwell.model.material import Medium
from spotdwell.model.target import Layer, Target


class Unknown(StrEnum):
    """The setting that is sought."""

    POWER = "power"
    SPOT = "spot"
    DWELL = "dwell"

    @property
    def unit(self) -> str:
        """SI unit."""
        return {Unknown.POWER: "W", Unknown.SPOT: "m", Unknown.DWELL: "s"}[self]

    @property
    def bounds(self) -> tuple[float, float]:
        """Least and most that are tried unless said [SI]: what surgical lasers and their lenses give."""
        return {Unknown.POWER: (0.1, 1e3), Unknown.SPOT: (50e-6, 10e-3), Unknown.DWELL: (10e-6, 10.0)}[self]

    @property
    def exponent(self) -> float:
        """Power of the peak radiant exposure to which the setting goes: 1, or -1/2 for the spot."""
        return -0.5 if self is Unknown.SPOT else 1.0

    def key(self, scenario: Scenario) -> str:
        """Dotted key of the setting in `scenario`."""
        dwell = "dwell_time" if scenario.exposure.dwell_time is not None else "on_time"
        return {"power": "beam.power", "spot": "beam.diameter", "dwell": f"exposure.{dwell}"}[self]

    def written(self, value: float) -> str:
        """`value` [SI] as a quantity string."""
        return units.written(value, self.unit)


@dataclass(frozen=True)
class Scale:
    """The unknown on a logarithmic scale of peak radiant exposure, on which depth rises for all three.

    0 is the closed form's estimate, 1 is e times the exposure.
    """

    unknown: Unknown
    estimate: float
    """[SI]."""
    least: float
    """[SI]."""
    most: float
    """[SI]."""

    def value(self, place: float) -> float:
        """Setting [SI] at a `place` on the scale."""
        return float(self.estimate * math.exp(self.unknown.exponent * place))

    def place(self, value: float) -> float:
        """Place of a setting on the scale."""
        return math.log(value / self.estimate) / self.unknown.exponent

    @property
    def ends(self) -> tuple[float, float]:
        """Places of the bounds: the shallower, then the deeper."""
        low, high = sorted((self.place(self.least), self.place(self.most)))
        return low, high


def scale_of(scenario: Scenario, unknown: Unknown, depth: float, bounds: tuple[float, float]) -> Scale:
    """Scale of the `unknown` whose 0 is the estimate for `depth` [m]; `scenario` may have any value of it.

    The estimate knows no conduction, so the true depth is mostly less. Raises InputError where nothing can be
    removed down to that depth.
    """
    need = needed_exposure(target_of(scenario), depth)
    factor = need / _sent(scenario)
    value = value_in(scenario, unknown) * factor**unknown.exponent
    return Scale(unknown, value, *bounds)


def needed_exposure(target: Target, depth: float) -> float:
    """Least absorbed peak radiant exposure [J/m2] that removes down to `depth` [m]."""
    heat, initial = 0.0, target.initial_temperature
    for layer, thickness in _down_to(target, depth):
        if not (layer.medium.removal or layer.medium.is_liquid):
            raise InputError(
                "depth",
                "a depth down to which material can be removed",
                units.display(depth, "m", "um"),
                f"Nothing removes {layer.medium.name}.",
            )
        heat += thickness * _removal_heat(layer.medium, initial)
    top = target.layers[0].medium
    warm = top.removal_enthalpy(initial) / max(top.absorption_coefficient, 1.0)
    return exposure_for_depth(depth, warm, heat / depth)


def _removal_heat(medium: Medium, initial_temperature: float) -> float:
    """Heat per volume that the beam must bring [J/m3], what debris takes of it included."""
    debris = medium.removal.debris_heat if medium.removal and medium.ruptures else 0.0
    return medium.removal_enthalpy(initial_temperature) + debris


def _down_to(target: Target, depth: float) -> Iterator[tuple[Layer, float]]:
    """Layers above `depth`, each with how much of it lies there [m]."""
    top = 0.0
    for layer in target.layers:
        if top < depth:
            yield layer, min(layer.thickness, depth - top)
        top += layer.thickness


def _sent(scenario: Scenario) -> float:
    """Absorbed peak radiant exposure of `scenario` [J/m2], a carrier at its mean power."""
    on, _, count = scenario.exposure.gate
    carrier = scenario.exposure.carrier
    duty = 1.0 if carrier is None else carrier.pulse_duration * carrier.repetition_rate
    beam, top = beam_of(scenario), target_of(scenario).layers[0].medium
    share = beam.plume_transmittance * (1.0 - top.reflectance)
    return scenario.arriving_power * duty * on * count * beam.peak_irradiance * max(share, 1e-9)


def value_in(scenario: Scenario, unknown: Unknown) -> float:
    """The unknown's value in `scenario` [SI]."""
    values = {
        Unknown.POWER: scenario.beam.power,
        Unknown.SPOT: scenario.beam.diameter,
        Unknown.DWELL: scenario.exposure.gate[0],
    }
    return float(values[unknown] or 0.0)
