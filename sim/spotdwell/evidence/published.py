"""Published measurements that the tool is held against, each with the run that computes the same figure."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np

from spotdwell.evidence.published_runs import (
    ACRYLIC,
    SHALLOW,
    Changes,
    Exposure,
    changed_material,
    solved,
    threshold,
)
from spotdwell.output.result import Result

WALSH_1989 = "Walsh, Schomacker, Flotte, Deutsch, Feld, CLEO Technical Digest 1989, 128 and 130"
GREEN = "Green et al., Arch Dermatol 1992;128:639-645"
SUTER = "Suter, Altermatt, Bornstein, Lasers Med Sci 2017;32:573-581"
WALSH_ER = "Walsh and Deutsch, Lasers Surg Med 1989;9:327-337"
HIBST = "Hibst and Kaufmann, Lasers Med Sci 1991;6:391"
REN = "Ren et al., Lasers Surg Med 1992;12:274-281"
COZZENS = "Cozzens and Fox, Infrared laser ablation of polymers, 1978"
RAPID = (
    "Rapidly scanned CO2 laser on porcine dermis, J Burn Care Rehabil 1997, "
    "doi 10.1097/00004630-199705000-00005"
)
NISHIOKA = "Nishioka and Domankevitz 1990, pulsed holmium and thulium lasers on liver"
WALSH_DAMAGE = "Walsh, Flotte, Deutsch, Lasers Surg Med 1989;9:314-326"
PIERCE = "Pierce, Jackson, Dickinson, King, Lasers Surg Med 1999;25:407-413"
WILDER = "Wilder-Smith, Dang, Kurosaki, JADA 1997;128:583-588"
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
    return (
        *_steady(), *_pulsed(), *_removed(), *_corneal(), *_acrylic(), *_stacked(),
        *_irradiances(), *_erbium_damage(), *_liver(), *_trends(),
    )  # fmt: skip


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
    skin = Exposure("skin", 20e4 / 250e-6, 250e-6, initial_temperature="34 degC", count=10,
                    repetition_rate=10.0, spot=1e-3)  # fmt: skip
    co2 = Exposure(
        "oral_mucosa", 263e7, 400e-6, initial_temperature="37 degC", count=4, repetition_rate=140.0
    )
    er = Exposure("oral_mucosa", 20e4 / 297e-6, 297e-6, "2.94 um", "37 degC", 4, 35.0, 0.3e-6)
    width = "coagulated width"
    return (
        Row("V6 damage, pulsed CO2", width, 85.0, 30.0, TWO_SIGMA, "um", GREEN,
            "skin at 34 degC, 10 pulses of 250 us and 20 J/cm2 at 10 Hz in the middle of a gaussian spot of "
            "1 mm, 0.6 mm deep in all; pulses and spot are assumed: see THEORY.md",
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
    setup = "skin from 20 degC, 10 and 20 J/cm2 in 250 us on a slab, the difference"
    labs = "a quarter: the two laboratories differ by as much"
    return (
        Row("Er:YAG removed mass", "mass per energy", 540.0, 135.0, labs, "ug/J", WALSH_ER, setup,
            lambda changes: 1e9 * _removed_mass(changes)),
        Row("Er:YAG removed depth", "depth per radiant exposure", 6.0, 1.5, labs, "um cm2/J", HIBST, setup,
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
    stated = (
        "mucosa for cornea (both 78 % water), 20 degC: least radiant exposure that removes a cell of a slab"
    )
    figures = (
        ("2.94 um", 200e-6, 250.0, 20.0), ("2.79 um", 200e-6, 420.0, 35.0),
        ("2.94 um", 100e-9, 150.0, 10.0), ("2.79 um", 100e-9, 150.0, 10.0),
    )  # fmt: skip
    return tuple(
        Row(f"V9 threshold, {wavelength}, {'200 us' if pulse > 1e-6 else '100 ns'}", "radiant exposure",
            measured, 2.0 * sigma, TWO_SIGMA, "mJ/cm2", REN,
            f"{stated}; {SPIKED}" if pulse > 1e-6 else stated,
            partial(_ablation_threshold, wavelength, pulse))
        for wavelength, pulse, measured, sigma in figures
    )  # fmt: skip


SPIKED = "the free-running pulse as 20 spikes of 1 us every 10 us (from memory)"
_SPIKES, _SPIKE, _SPIKE_RATE = 20, 1e-6, 1e5
_WET_ABSORPTION = {"2.94 um": 1.0e6, "2.79 um": 4.1e5}
"""Of mucosa [1/m], near enough to choose a cell."""


def _corneal_shot(wavelength: str, pulse: float, joules: float, pulses: int = 1) -> Exposure:
    """`pulses` of `joules` per cm2 on mucosa, 10 a second; one of 200 us is a train of spikes."""
    cell = SHALLOW / _WET_ABSORPTION[wavelength]
    if pulses > 1:
        return Exposure("oral_mucosa", joules * 1e4 / pulse, pulse, wavelength, count=pulses,
                        repetition_rate=10.0, cell_depth=3.0 * cell)  # fmt: skip
    if pulse < 1e-6:
        return Exposure("oral_mucosa", joules * 1e4 / pulse, pulse, wavelength, cell_depth=cell,
                        end_time=3.0 * pulse)  # fmt: skip
    return Exposure("oral_mucosa", joules * 1e4 / (_SPIKES * _SPIKE), _SPIKE, wavelength, count=_SPIKES,
                    repetition_rate=_SPIKE_RATE, cell_depth=cell, end_time=1.5 * pulse)  # fmt: skip


def _ablation_threshold(wavelength: str, pulse: float, changes: Changes) -> float:
    def removes(millijoules: float) -> bool:
        return _measure(_corneal_shot(wavelength, pulse, 1e-3 * millijoules), changes, "deepest") > 0.0

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
    setup = "skin at 34 degC, 15 pulses of 100 us at 1 Hz on a slab; "
    table: list[Row] = []
    for exposure, kelvin, pulse, spread, doubt in (
        (2.4, 200.0, 6.5, 1.5, "pulses 5 to 8 as stated"),
        (3.9, 350.0, 3.0, 1.0, "a whole pulse"),
    ):
        table += [
            Row(f"V13 surface, {exposure} J/cm2", "temperature", kelvin, 50.0, "stated as about, to 50 degC",
                "degC", CHOI,
                setup + "exposed cell 2 ms after pulses 10 to 15 (cameras average for milliseconds)",
                partial(_plateau, exposure)),
            Row(f"V13 char, {exposure} J/cm2", "pulse number", pulse, spread, doubt, "1", CHOI,
                setup + "pulse after which a cell is browned (Omega of 1, between pulses by its logarithm): "
                "what the eye calls char; 16 for none",
                partial(_char_pulse, exposure)),
        ]  # fmt: skip
    return tuple(table)


_STACK = 15
_CAMERA = 2e-3
"""When after a pulse's start its surface temperature is read [s]."""


@lru_cache(maxsize=8)
def _stack(joules: float, changes: tuple[tuple[str, str | float], ...]) -> tuple[list[float], list[float]]:
    """Surface temperature [degC] and browning of the most browned cell after each pulse [J/cm2]."""
    times = [number + delay for number in range(_STACK) for delay in (_CAMERA, 0.9)]
    shot = Exposure("skin", joules * 1e4 / 1e-4, 1e-4, initial_temperature="34 degC", count=_STACK,
                    cell_depth=2e-6, end_time=float(_STACK), save_times=tuple(times))  # fmt: skip
    shots = solved(shot, dict(changes)).snapshots[: 2 * _STACK]
    hot = [float(snap.temperature[0, snap.floor[0]]) - 273.15 for snap in shots[::2]]
    process = _process(shot, changes)
    return hot, [float(snap.damage[process, 0, snap.floor[0] :].max()) for snap in shots[1::2]]


def _process(shot: Exposure, changes: tuple[tuple[str, str | float], ...]) -> int:
    """Index of browning among the damage processes of the shot's material."""
    names = [one["name"] for one in changed_material(shot.material, dict(changes))["damage"]]
    return names.index("browning")


def _plateau(joules: float, changes: Changes) -> float:
    return float(np.mean(_stack(joules, tuple(sorted(changes.items())))[0][9:]))


def _char_pulse(joules: float, changes: Changes) -> float:
    browning = np.maximum(_stack(joules, tuple(sorted(changes.items())))[1], 1e-12)
    browned = int(np.argmax(browning >= 1.0)) if np.any(browning >= 1.0) else _STACK
    if browned in (0, _STACK):
        return float(browned + 1)
    # Between two pulses by the logarithm of the damage, so that a small change of a value shows.
    before, after = np.log(browning[browned - 1 : browned + 1])
    return float(browned + 1.0 - after / (after - before))


def _irradiances() -> tuple[Row, ...]:
    """Damage that does not fall with irradiance: V1 over its range, and a fast scan of pig dermis."""
    stated = "skin from 20 degC, {:g} kW/cm2 to about 0.5 mm deep, floor of a slab"
    return (
        *(
            Row(f"V1 damage at {kilowatts:g} kW/cm2", "coagulated width", 100.0, 30.0, TWO_SIGMA, "um",
                WALSH_1989, stated.format(kilowatts),
                partial(_micrometres, _cut(kilowatts)))
            for kilowatts in (13.0, 100.0, 400.0)
        ),
        Row("Fast scan, floor damage", "coagulated width", 120.0, 40.0,
            "a third: stated as about, and as independent of dwell and irradiance, which are not "
            "stated", "um", RAPID,
            "skin from 34 degC, 20 kW/cm2 for 10 ms on a slab; power, speed and spot are assumed",
            partial(_micrometres, Exposure("skin", 20e7, 10e-3, initial_temperature="34 degC"))),
    )  # fmt: skip


def _erbium_damage() -> tuple[Row, ...]:
    """Damage beside Er craters in cornea and skin."""
    setup = "mucosa for cornea, 5 pulses at 10 Hz on a slab, each of {:g} J/cm2, which is assumed"
    half = "half of it: the radiant exposure is not stated"
    table = [
        Row(f"Cornea damage, {wavelength}, {title}", "coagulated width", measured, 0.5 * measured, half, "um",
            REN, setup.format(joules), partial(_micrometres, _corneal_shot(wavelength, pulse, joules, 5)))
        for wavelength, pulse, title, measured, joules in (
            ("2.94 um", 200e-6, "200 us", 16.0, 1.0), ("2.79 um", 200e-6, "200 us", 39.0, 1.7),
            ("2.94 um", 100e-9, "100 ns", 4.0, 0.6), ("2.79 um", 100e-9, "100 ns", 4.0, 0.6),
        )
    ]  # fmt: skip
    skin = "skin from 20 degC, 4 pulses of {} J/cm2 at 1 Hz on a slab; pulses assumed"
    slow = Exposure("skin", 10e4 / 200e-6, 200e-6, "2.94 um", count=4, cell_depth=0.3e-6)
    fast = Exposure("skin", 1e4 / 90e-9, 90e-9, "2.94 um", count=4, cell_depth=0.3e-6)
    return (
        *table,
        Row("Er:YAG skin damage, 200 us", "coagulated width", 30.0, 20.0, "the range stated, 10 to 50 um",
            "um", WALSH_DAMAGE, skin.format(10), partial(_micrometres, slow)),
        Row("Er:YAG skin damage, 90 ns", "coagulated width", 7.5, 2.5, "the range stated, 5 to 10 um", "um",
            WALSH_DAMAGE, skin.format(1), partial(_micrometres, fast)),
    )  # fmt: skip


def _liver() -> tuple[Row, ...]:
    """Thresholds and heats of ablation of liver at 2 um, where light goes deep."""
    stated = "liver from 20 degC, 250 us on a slab"
    third = "a third: no scatter stated, and the loss of mass was extrapolated"
    table: list[Row] = []
    for name, wavelength, least, heat, joules in (
        ("Ho", "2.1 um", 36.0, 10.0, (80.0, 240.0)),
        ("Tm", "2.01 um", 29.0, 9.7, (60.0, 220.0)),
    ):
        table += [
            Row(f"{name} threshold of liver", "radiant exposure", least, least / 3.0, third, "J/cm2",
                NISHIOKA, stated, partial(_liver_threshold, wavelength)),
            Row(f"{name} heat of ablation of liver", "energy per removed volume", heat, heat / 3.0, third,
                "kJ/cm3", NISHIOKA, f"{stated}, {joules[0]:g} and {joules[1]:g} J/cm2, the difference",
                partial(_liver_heat, wavelength, joules)),
        ]  # fmt: skip
    return tuple(table)


def _liver_shot(wavelength: str, joules: float, end_time: float | None = None) -> Exposure:
    return Exposure("liver", joules * 1e4 / 250e-6, 250e-6, wavelength, end_time=end_time)


def _liver_threshold(wavelength: str, changes: Changes) -> float:
    def removes(joules: float) -> bool:
        return _measure(_liver_shot(wavelength, joules, 1e-3), changes, "deepest") > 0.0

    return threshold(removes, 5.0, 200.0)


def _liver_heat(wavelength: str, joules: tuple[float, float], changes: Changes) -> float:
    runs = [solved(_liver_shot(wavelength, one), changes) for one in joules]
    return 1e-9 / max(_slope(runs, "crater_volume", "incident_energy"), 1e-12)


def _trends() -> tuple[Row, ...]:
    """A narrow hole, and short pulses against a gated beam."""
    hole = Exposure("muscle", 0.8 * 8.0 / (math.pi * 0.15e-3**2), 0.2, "2.01 um", spot=0.15e-3)
    return (
        Row("Narrow hole, 2 um, 0.8 W", "front speed", 0.27, 0.13,
            "half of it: the line is 1.98 um, and the depth at which speed was read is not stated", "mm/s",
            PIERCE, "muscle from 20 degC, 0.8 W at 2.01 um in a gaussian spot of 0.15 mm for 0.2 s",
            lambda changes: 5e3 * _measure(hole, changes, "crater_depth")),
        Row("Short pulses over gated beam, 9.3 um", "ratio of coagulated widths", 0.1, 0.1,
            "a factor of two: a ratio of one digit, of settings that are not stated", "1", WILDER,
            "mucosa at 37 degC, walls, gaussian spot of 0.4 mm: five pulses of 60 us and 20 mJ at 2 Hz "
            "against three gates of 50 ms at 5 W and 10 Hz",
            _short_over_gated),
    )  # fmt: skip


def _short_over_gated(changes: Changes) -> float:
    spot = 0.4e-3
    peak = 8.0 / (math.pi * spot**2)
    short = Exposure("oral_mucosa", 20e-3 / 60e-6 * peak, 60e-6, "9.3 um", "37 degC", 5, 2.0, spot=spot)
    gated = Exposure("oral_mucosa", 5.0 * peak, 50e-3, "9.3 um", "37 degC", 3, 10.0, spot=spot)
    walls = [_measure(one, changes, "coagulation_thickness_wall") for one in (short, gated)]
    return walls[0] / walls[1]


def _measure(exposure: Exposure, changes: Changes, name: str) -> float:
    """A measure of one exposure, with nothing to measure read as 0."""
    return solved(exposure, changes).measures[name] or 0.0
