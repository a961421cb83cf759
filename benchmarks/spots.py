"""Heat of ablation and damage over spots, of steady CO2 beams: python benchmarks/spots.py [picture.png].

Two tissues. Each shot lasts as long as its mean radiant exposure would take to remove 0.5 mm at 4.5 kJ/cm3,
at most 2 s. Prints a table and draws it; some minutes on two cores.
"""

from __future__ import annotations

import math
import sys
from concurrent.futures import ProcessPoolExecutor

MATERIALS, POWERS = ("soft_tissue", "oral_mucosa"), (20.0, 60.0)
SPOTS = (0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.4, 2.8, 3.2, 4.0, 5.0, 6.0)
"""1/e2 diameters [mm]."""
COLUMNS = (
    ("irradiance_mean", 1e-7, "kW/cm2"), ("crater_depth", 1e6, "um"), ("crater_width", 1e6, "um"),
    ("energy_per_removed_volume", 1e-9, "kJ/cm3"), ("char_thickness_floor", 1e6, "um"),
    ("char_thickness_wall", 1e6, "um"), ("coagulation_thickness_floor", 1e6, "um"),
    ("coagulation_thickness_wall", 1e6, "um"), ("peak_temperature", 1.0, "K"),
)  # fmt: skip
"""Measure, factor from SI and unit."""


def dwell_of(power: float, spot: float) -> float:
    """Dwell time [s] for `power` [W] on `spot` [mm]."""
    area = math.pi * (spot * 1e-3) ** 2 / 4.0
    return min(max(0.5e-3 * 4.5e9 * area / power, 1e-4), 2.0)


def row(setting: tuple[str, float, float]) -> list[float]:
    """Values of `COLUMNS` for material, power [W] and spot [mm]; NaN where a measure does not apply."""
    from spotdwell import shot

    material, power, spot = setting
    result = shot(material, f"{power} W", f"{spot} mm", f"{dwell_of(power, spot)!r} s")
    values = [result.measures[name] for name, _, _ in COLUMNS]
    return [
        math.nan if one is None else one * factor for one, (_, factor, _) in zip(values, COLUMNS, strict=True)
    ]


def draw(table: dict[tuple[str, float], list[list[float]]], path: str) -> None:
    """Heat of ablation above, coagulated and charred walls below, over the spot."""
    import matplotlib

    matplotlib.use("agg")
    from matplotlib import pyplot as plt

    figure, (heat, wall) = plt.subplots(2, 1, figsize=(6.4, 6.4), sharex=True, layout="constrained")
    for (material, power), rows in table.items():
        style = {
            "linestyle": "-" if power > 30.0 else "--",
            "color": "k" if material == MATERIALS[0] else "#8a5a3a",
        }
        label = f"{material.replace('_', ' ')}, {power:g} W"
        heat.plot(SPOTS, [one[3] for one in rows], marker=".", label=label, **style)
        wall.plot(SPOTS, [one[7] for one in rows], marker="o", markersize=3, label=label, **style)
        wall.plot(SPOTS, [one[5] for one in rows], marker="x", markersize=3, linewidth=0.6, **style)
    heat.set(ylabel="energy per removed volume [kJ/cm³]", xscale="log", ylim=(0.0, 12.0))
    heat.axhspan(3.6, 6.0, color="0.9")
    heat.text(0.19, 3.0, "grey: measured, steady beam, 4.8 ± 1.2 kJ/cm³", fontsize="small")
    heat.legend(fontsize="small", frameon=False)
    wall.set(xlabel="spot, 1/e² diameter [mm]", ylabel="wall: coagulated ●, charred × [µm]",
             ylim=(0.0, 500.0))  # fmt: skip
    wall.axhspan(70.0, 130.0, color="0.9")
    wall.text(0.19, 330.0, "grey: coagulated, measured\nabove 13 kW/cm², 100 ± 30 µm", fontsize="small")
    wall.set_xticks([0.2, 0.3, 0.5, 1.0, 2.0, 4.0, 6.0], ["0.2", "0.3", "0.5", "1", "2", "4", "6"])
    wall.minorticks_off()
    figure.savefig(path, dpi=150)


def main() -> None:
    """Compute, print and draw."""
    settings = [(material, power, spot) for material in MATERIALS for power in POWERS for spot in SPOTS]
    with ProcessPoolExecutor(2) as pool:
        rows = list(pool.map(row, settings))
    table: dict[tuple[str, float], list[list[float]]] = {}
    for (material, power, _), values in zip(settings, rows, strict=True):
        table.setdefault((material, power), []).append(values)
    print("spot [mm]", *(f"{name} [{unit}]" for name, _, unit in COLUMNS), sep=" | ")
    for key, values in table.items():
        print(f"{key[0]}, {key[1]:g} W")
        for spot, one in zip(SPOTS, values, strict=True):
            print(f"{spot:5g}", *(f"{value:8.4g}" for value in one))
    if len(sys.argv) > 1:
        draw(table, sys.argv[1])


if __name__ == "__main__":
    main()
