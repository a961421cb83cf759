"""Published measurements that the tool is held against, each with the run that computes the same figure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np

from spotdwell.measure.zones import CHAR_CONVERSION
from spotdwell.output.result import Result
from spotdwell.study.evidence.published_runs import ACRYLIC, SHALLOW, Changes, Exposure, solved, threshold

WALSH_1989 = "Walsh, Schomacker, Flotte, Deutsch, Feld, CLEO Technical Digest 1989, 128 and 130"
GREEN = "Green et al., Arch Dermatol 1992;128:639-645"
SUTER = "Suter, Altermatt, Bornstein, Lasers Med Sci 2017;32:573-581"
WALSH_ER = "Walsh and Deutsch, Lasers Surg Med 1989;9:327-337"
HIBST = "Hibst and Kaufmann, Lasers Med Sci 1991;6:391"
REN = "Ren et al., Lasers Surg Med 1992;12:274-281"
COZZENS = "Cozzens and Fox, Infrared laser ablation of polymers, 1978"
CHOI = "Choi et al., Proc SPIE 3245 (1998), doi 10.1117/12.312306"

TWO_SIGMA = "twice the stated plus-minus"
DEFINITIONS = "half of it: no scatter stated, and definitions of damage differ by as much"


@dataclass(frozen=True)
class Row:
    """One measured figure and the run that computes it."""

    name: str
    quantity: str
    measured: float
    spread: float
    """A computed value within this of `measured` counts as a hit."""
    reason: str
    """Why the spread is what it is."""
    unit: str
    """Of `measured`, `spread` and what is computed."""
    source: str
    setting: str
    """What was run, with what the source does not say."""
    compute: Callable[[Changes], float]

    def holds(self, computed: float) -> bool:
        """Whether `computed` lies within the spread."""
        return abs(computed - self.measured) <= self.spread


def rows() -> tuple[Row, ...]:
    """All published rows."""
    return (*_steady(), *_pulsed(), *_removed(), *_corneal(), *_acrylic(), *_stacked())


def evaluate(row: Row, changes: Changes | None = None) -> float:
    """Computed value of `row` in its own unit; `changes` replace material values (see `published_runs`)."""
    return row.compute(changes or {})


def _steady() -> tuple[Row, ...]:
    """Steady CO2 beam on excised skin."""
    twenty = "skin from 20 degC, 20 kW/cm2 to about 0.5 mm deep, floor of a slab; spot and power not stated"
    return (
        Row("V1 damage, steady beam", "coagulated width", 100.0, 30.0, TWO_SIGMA, "um", WALSH_1989, twenty,
            lambda changes: 1e6 * _measure(_cut(20.0), changes, "coagulation_thickness_floor")),
        Row("V2 limit of char", "irradiance", 6.0, 2.0,
            "a third: one digit is stated, and whether it is a mean or the peak, a factor of 2, is not",
            "kW/cm2", WALSH_1989, "skin from 20 degC: least irradiance that leaves no char on a slab",
            _clean_irradiance),
        Row("V3 heat of ablation, steady beam", "energy per removed volume", 4.8, 1.2,
            "a quarter: it depended on spot size, by how much is not stated", "kJ/cm3", WALSH_1989, twenty,
            lambda changes: 1e-9 * _measure(_cut(20.0), changes, "energy_per_removed_volume")),
    )  # fmt: skip


def _cut(kilowatts: float) -> Exposure:
    """A steady cut with `kilowatts` per cm2 that spends 1 J/mm2."""
    irradiance = kilowatts * 1e7
    return Exposure("skin", irradiance, 1e6 / irradiance)


def _clean_irradiance(changes: Changes) -> float:
    def clean(kilowatts: float) -> bool:
        return _measure(_cut(kilowatts), changes, "char_thickness_floor") == 0.0

    return threshold(clean, 0.5, 100.0)


def _pulsed() -> tuple[Row, ...]:
    """Pulsed lasers in living skin and mucosa."""
    skin = Exposure(
        "skin", 20e4 / 250e-6, 250e-6, initial_temperature="34 degC", count=10, repetition_rate=10.0
    )
    co2 = Exposure(
        "oral_mucosa", 263e7, 400e-6, initial_temperature="37 degC", count=4, repetition_rate=140.0
    )
    er = Exposure("oral_mucosa", 20e4 / 297e-6, 297e-6, "2.94 um", "37 degC", 4, 35.0, 0.3e-6)
    width = "coagulated width"
    return (
        Row("V6 damage, pulsed CO2", width, 85.0, 30.0, TWO_SIGMA, "um", GREEN,
            "skin at 34 degC, 10 pulses of 20 J/cm2 and 250 us at 10 Hz on a slab; pulses assumed, and "
            "others of 10 to 40 J/cm2 give 49 to 115 um",
            partial(_micrometres, skin)),
        Row("V7 damage, pulsed CO2", width, 74.9, 37.0, DEFINITIONS, "um", SUTER,
            "mucosa, 4 pulses of 400 us and 105 J/cm2 (33 mJ on 0.2 mm) at 140 Hz on a slab; number assumed",
            partial(_micrometres, co2)),
        Row("V7 damage, pulsed Er:YAG", width, 34.0, 17.0, DEFINITIONS, "um", SUTER,
            "mucosa, 4 pulses of 297 us and 20 J/cm2 at 35 Hz on a slab; spot (200 mJ on 1.1 mm) and number "
            "are assumed", partial(_micrometres, er)),
    )  # fmt: skip


def _micrometres(exposure: Exposure, changes: Changes) -> float:
    return 1e6 * _measure(exposure, changes, "coagulation_thickness_floor")


def _removed() -> tuple[Row, ...]:
    """What Er:YAG pulses of about 250 us remove from skin: the heat of ablation without a steady plume."""
    told = "skin from 20 degC, 10 and 20 J/cm2 in 250 us on a slab, the difference"
    labs = "a quarter: the two laboratories differ by as much"
    return (
        Row("Er:YAG removed mass", "mass per energy", 540.0, 135.0, labs, "ug/J", WALSH_ER, told,
            lambda changes: 1e9 * _removed_mass(changes)),
        Row("Er:YAG removed depth", "depth per radiant exposure", 6.0, 1.5, labs, "um cm2/J", HIBST, told,
            lambda changes: 1e10 * _removed_mass(changes) / SKIN_DENSITY),
    )  # fmt: skip


SKIN_DENSITY = 1125.0
"""Of the shipped skin [kg/m3]."""


def _removed_mass(changes: Changes) -> float:
    """Slope of mass against energy [kg/J]."""
    pulse = 250e-6
    shots = [
        Exposure("skin", joules * 1e4 / pulse, pulse, "2.94 um", cell_depth=0.3e-6) for joules in (10.0, 20.0)
    ]
    runs = [solved(shot, changes) for shot in shots]
    return _slope(runs, "crater_mass", "incident_energy")


def _slope(runs: list[Result], upper: str, lower: str) -> float:
    """Change of one measure over that of another between two runs."""
    up, low = ([run.measures[name] or 0.0 for run in runs] for name in (upper, lower))
    return (up[1] - up[0]) / (low[1] - low[0])


def _corneal() -> tuple[Row, ...]:
    """Ablation thresholds of Er lasers on cornea, which mucosa stands for: both are 78 % water."""
    told = (
        "mucosa for cornea (both 78 % water), 20 degC: least radiant exposure that removes a cell of a slab"
    )
    figures = (
        ("2.94 um", 200e-6, 250.0, 20.0), ("2.79 um", 200e-6, 420.0, 35.0),
        ("2.94 um", 100e-9, 150.0, 10.0), ("2.79 um", 100e-9, 150.0, 10.0),
    )  # fmt: skip
    return tuple(
        Row(f"V9 threshold, {wavelength}, {'200 us' if pulse > 1e-6 else '100 ns'}", "radiant exposure",
            measured, 2.0 * sigma, TWO_SIGMA, "mJ/cm2", REN, told,
            partial(_ablation_threshold, wavelength, pulse))
        for wavelength, pulse, measured, sigma in figures
    )  # fmt: skip


_WET_ABSORPTION = {"2.94 um": 1.0e6, "2.79 um": 4.1e5}
"""Of mucosa [1/m], near enough to choose a cell."""


def _ablation_threshold(wavelength: str, pulse: float, changes: Changes) -> float:
    cell = SHALLOW / _WET_ABSORPTION[wavelength]

    def removes(millijoules: float) -> bool:
        shot = Exposure("oral_mucosa", millijoules * 10.0 / pulse, pulse, wavelength, cell_depth=cell,
                        end_time=3.0 * pulse)  # fmt: skip
        return _measure(shot, changes, "deepest") > 0.0

    return threshold(removes, 40.0, 2000.0, halvings=9)


def _acrylic() -> tuple[Row, ...]:
    """Energy per mass of acrylic under a steady CO2 beam."""
    return tuple(
        Row(f"V12 acrylic at {watts:g} W/cm2", "energy per removed mass", 3.5, 0.35,
            "a tenth: stated to two digits and as constant over the whole range", "kJ/g", COZZENS,
            "a slab from 20 degC; more energy over more mass, between 1 and 2 mm deep",
            partial(_acrylic_heat, watts))
        for watts in (20.0, 200.0, 2600.0)
    )  # fmt: skip


def _acrylic_heat(watts: float, changes: Changes) -> float:
    """Slope of energy against mass [kJ/g]: what warms the sheet before it goes cancels."""
    irradiance = watts * 1e4
    runs = [solved(Exposure(ACRYLIC, irradiance, energy / irradiance), changes) for energy in (4e6, 8e6)]
    return 1e-6 * _slope(runs, "incident_energy", "crater_mass")


def _stacked() -> tuple[Row, ...]:
    """A hundred-microsecond pulse a second on living rat skin."""
    told = "skin at 34 degC, 15 pulses of 100 us at 1 Hz on a slab; "
    table: list[Row] = []
    for exposure, kelvin, pulse, spread, doubt in (
        (2.4, 200.0, 6.5, 1.5, "pulses 5 to 8 as stated"),
        (3.9, 350.0, 3.0, 1.0, "a whole pulse"),
    ):
        table += [
            Row(f"V13 surface, {exposure} J/cm2", "temperature", kelvin, 50.0, "stated as about, to 50 degC",
                "degC", CHOI,
                told + "exposed cell 2 ms after pulses 10 to 15 (cameras average for milliseconds)",
                partial(_plateau, exposure)),
            Row(f"V13 char, {exposure} J/cm2", "pulse number", pulse, spread, doubt, "1", CHOI,
                told + "first pulse that leaves half of an exposed cell charred; 16 for none",
                partial(_char_pulse, exposure)),
        ]  # fmt: skip
    return tuple(table)


_STACK = 15
_CAMERA = 2e-3
"""When after a pulse's start its surface temperature is read [s]."""


@lru_cache(maxsize=8)
def _stack(joules: float, changes: tuple[tuple[str, str | float], ...]) -> tuple[list[float], list[float]]:
    """Surface temperature [degC] and conversion of the exposed cell after each pulse of `joules` per cm2."""
    times = [number + delay for number in range(_STACK) for delay in (_CAMERA, 0.9)]
    shot = Exposure("skin", joules * 1e4 / 1e-4, 1e-4, initial_temperature="34 degC", count=_STACK,
                    cell_depth=2e-6, end_time=float(_STACK), save_times=tuple(times))  # fmt: skip
    shots = solved(shot, dict(changes)).snapshots[: 2 * _STACK]
    hot = [float(snap.temperature[0, snap.floor[0]]) - 273.15 for snap in shots[::2]]
    return hot, [float(snap.conversion[0, snap.floor[0] :].max()) for snap in shots[1::2]]


def _plateau(joules: float, changes: Changes) -> float:
    return float(np.mean(_stack(joules, tuple(sorted(changes.items())))[0][9:]))


def _char_pulse(joules: float, changes: Changes) -> float:
    conversion = np.array(_stack(joules, tuple(sorted(changes.items())))[1])
    charred = np.flatnonzero(conversion >= CHAR_CONVERSION)
    return float(charred[0] + 1 if charred.size else _STACK + 1)


def _measure(exposure: Exposure, changes: Changes, name: str) -> float:
    """A measure of one exposure, with nothing to measure read as 0."""
    return solved(exposure, changes).measures[name] or 0.0
