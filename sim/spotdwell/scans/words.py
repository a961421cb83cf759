"""Words: what a scan measures, with symbol, unit and meaning."""

from __future__ import annotations

from spotdwell.base.names import Quantity

LAYERS = {"char": "charred", "dried": "dried", "coagulation": "coagulated"}
"""Layers below the floor, as measures and as words call them."""


def _layer(name: str, word: str) -> tuple[Quantity, ...]:
    where = f"{word} below the floor"
    return (
        Quantity(f"{name}_mean", "", "m", "um", f"{where}, mean inside the area"),
        Quantity(f"{name}_worst", "", "m", "um", f"{where}, most inside the area"),
        Quantity(f"{name}_edge", "", "m", "um", f"{where}, most along the area's edge"),
    )


_ROWS = (
    Quantity("depth_mean", "d", "m", "um", "mean depth inside the area"),
    Quantity("depth_least", "d_min", "m", "um", "least depth inside the area"),
    Quantity("depth_greatest", "d_max", "m", "um", "greatest depth inside the area"),
    Quantity("ripple", "", "1", "%", "greatest less least over mean depth"),
    Quantity("volume", "V", "m3", "mm3", "volume removed"),
    Quantity("volume_rate", "", "m3/s", "mm3/s", "volume over total time"),
    Quantity("energy_per_volume", "", "J/m3", "J/mm3", "energy sent over volume"),
    *(row for name, word in LAYERS.items() for row in _layer(name, word)),
    Quantity("meets_first", "T", "K", "degC", "surface temperature that the first line meets"),
    Quantity("meets_greatest", "T", "K", "degC", "highest surface temperature that a line meets"),
    Quantity("peak_temperature", "T_max", "K", "degC", "highest temperature reached"),
    Quantity("total_time", "t", "s", "s", "from the first line's start to the last one's end"),
    Quantity("duty", "", "1", "%", "share of that time with the beam on"),
    Quantity("energy", "E", "J", "J", "energy of the beam"),
    Quantity("peclet", "Pe", "1", "1", "speed times radius over diffusivity"),
)
SCAN_MEASURES = {row.name: row for row in _ROWS}
"""Measures of a scan, in the order in which they are told."""
