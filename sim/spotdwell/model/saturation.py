"""Pressure of superheated water: what stands beside a rupture temperature (eq. 13)."""

from __future__ import annotations

import math

from spotdwell.base import units

CRITICAL_TEMPERATURE = 647.096
"""Of water [K]."""
CRITICAL_PRESSURE = 22.064e6
"""Of water [Pa]."""
_TERMS = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)
"""Factors and exponents of 1 - T / T_c (Wagner & Pruß, J Phys Chem Ref Data 2002;31:387, eq. 2.5)."""


def saturation_pressure(temperature: float) -> float:
    """Pressure [Pa] at which water boils at `temperature` [K], by the auxiliary equation of IAPWS-95.

    It holds from the triple to the critical point; above that it stays at the critical pressure.
    """
    share = 1.0 - min(temperature, CRITICAL_TEMPERATURE) / CRITICAL_TEMPERATURE
    power = sum(factor * share**exponent for factor, exponent in _TERMS)
    return CRITICAL_PRESSURE * math.exp(power * CRITICAL_TEMPERATURE / temperature)


def rupture_text(temperature: float) -> str:
    """A rupture temperature [K] with its saturation pressure, such as "240 degC (3.3 MPa)"."""
    pressure = units.display(saturation_pressure(temperature), "Pa", "MPa", 2)
    return f"{units.display(temperature, 'K', 'degC')} ({pressure})"


def rupture_words(name: str, temperature: float) -> str:
    """At what a material is thrown out, such as "skin ruptures at 300 degC (8.6 MPa)"."""
    return f"{name} ruptures at {rupture_text(temperature)}"
