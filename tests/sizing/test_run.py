"""Sizing: the search on known laws, the round trip on the solver, limits, scan lines, wrong requests."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.exact.crater import exposure_for_depth, steady_depth
from spotdwell.inputs.build import target_of
from spotdwell.inputs.shot import scenario_of_shot
from spotdwell.model.throwing import throwing
from spotdwell.sizing.obstacles import obstacles
from spotdwell.sizing.run import size
from spotdwell.sizing.search import FAIR, Search, SearchResult
from spotdwell.sizing.trials import Limits, Listener, Trial, TrialRuns
from spotdwell.sizing.unknown import Scale, Unknown

COARSE: Any = {"cell_depth": "15 um", "cell_width": "60 um"}
"""Cells with which a shot takes some 50 ms."""
WANTED = 300e-6


class LawBench:
    """Stands for the solver where only the search is tested: depth by a `law` of the setting."""

    def __init__(self, law: Callable[[float], float], ceiling: float = 2.5 * WANTED) -> None:
        self._law, self._ceiling = law, ceiling
        self._trials: dict[float, Trial] = {}

    @property
    def trials(self) -> tuple[Trial, ...]:
        return tuple(self._trials.values())

    def at(self, value: float, digits: int = 3) -> Trial:
        rounded = float(f"{value:.{digits - 1}e}")
        if rounded not in self._trials:
            depth = self._law(rounded)
            stopped = depth > self._ceiling
            self._trials[rounded] = Trial(rounded, f"{rounded:g}", min(depth, self._ceiling), stopped)
        return self._trials[rounded]


def searched(
    law: Callable[[float], float], unknown: Unknown, estimate: float, least: float, most: float
) -> tuple[SearchResult, LawBench]:
    bench = LawBench(law)
    found = Search(bench, Scale(unknown, estimate, least, most), WANTED).result()  # type: ignore[arg-type]
    return found, bench


def dwell_law(dwell: float) -> float:
    """Nothing up to 5 ms, then 40 um for each ms."""
    return max(0.0, (dwell - 5e-3) * 40e-3)


def spot_law(spot: float) -> float:
    """Nothing from 2 mm up, then as the irradiance rises."""
    return max(0.0, 1e-4 * ((2e-3 / spot) ** 2 - 1.0))


@pytest.mark.parametrize("estimate", [0.1e-3, 4e-3, 12.5e-3, 0.4])
def test_search_finds_the_dwell_behind_a_plateau_wherever_it_starts(estimate: float) -> None:
    found, bench = searched(dwell_law, Unknown.DWELL, estimate, 10e-6, 10.0)
    # 300 um at 12.5 ms by the law; 0.5 % of depth is 0.3 % of the dwell.
    assert found.fits
    assert_allclose(found.nearest.value, 12.5e-3, rtol=0.004)
    assert len(bench.trials) < 20


def test_search_finds_the_spot_from_the_shallow_side() -> None:
    found, bench = searched(spot_law, Unknown.SPOT, 1.9e-3, 50e-6, 10e-3)
    assert_allclose(found.nearest.value, 1e-3, rtol=0.004)
    # Depth grows without bound as the spot shrinks: no trial may be far deeper than wanted.
    assert max(trial.depth for trial in bench.trials) < 2.0 * WANTED


def test_search_bears_noise_of_half_a_cell() -> None:
    noise = np.random.default_rng(3)
    found, bench = searched(
        lambda dwell: max(0.0, dwell_law(dwell) + noise.uniform(-2e-6, 2e-6)),
        Unknown.DWELL,
        7e-3,
        10e-6,
        10.0,
    )
    assert abs(found.error) <= FAIR
    assert len(bench.trials) < 30


def test_settings_have_three_digits_unless_depth_needs_more() -> None:
    gentle, _ = searched(dwell_law, Unknown.DWELL, 7e-3, 10e-6, 10.0)
    assert gentle.nearest.value == float(f"{gentle.nearest.value:.2e}")
    # 1 in the third digit is 30 um here, a tenth of the depth.
    steep, _ = searched(lambda power: max(0.0, (power - 12.34) * 300e-6), Unknown.POWER, 10.0, 0.1, 1e3)
    assert abs(steep.error) <= FAIR
    assert steep.nearest.value != float(f"{steep.nearest.value:.2e}")


def test_a_jump_past_the_depth_is_no_answer() -> None:
    found, _ = searched(lambda dwell: 700e-6 if dwell > 7.7e-3 else 100e-6, Unknown.DWELL, 5e-3, 1e-5, 1.0)
    assert not found.fits
    assert found.shallower is not None and found.deeper is not None
    assert_allclose([found.shallower.value, found.deeper.value], 7.7e-3, rtol=1e-3)


@pytest.mark.parametrize(("least", "most", "side"), [(10e-6, 9e-3, "deeper"), (15e-3, 1.0, "shallower")])
def test_bounds_that_exclude_the_depth_are_told(least: float, most: float, side: str) -> None:
    found, _ = searched(dwell_law, Unknown.DWELL, 10e-3, least, most)
    assert not found.fits
    assert getattr(found, side) is None
    assert found.nearest.value == (most if side == "deeper" else least)


def test_exposure_for_a_depth_undoes_the_law_of_steady_removal() -> None:
    exposure = exposure_for_depth(WANTED, 4e4, 2.6e9)
    assert_allclose(steady_depth(exposure, 4e4, 2.6e9), WANTED, rtol=1e-14)  # round-off


def test_soft_tissue_dries_below_some_6_kw_per_square_centimetre() -> None:
    target = target_of(scenario_of_shot("soft_tissue", "1 W", "1 mm", "1 ms"))
    limits = throwing(target.layers[0].medium, target.initial_temperature)
    assert limits is not None
    # Walsh et al. 1989 saw no char above 6 kW/cm2; the escape time is calibrated on that, and an estimate
    # without conduction is a third or so off.
    assert 60e6 / 1.5 < limits.lasts < 60e6 * 1.5


@pytest.mark.compiled
@pytest.mark.parametrize("material", ["soft_tissue", "oral_mucosa"])
def test_tissue_is_thrown_out_from_where_it_is_said_to_begin_and_to_last(
    material: str, tmp_path: Any
) -> None:
    never_burns = tmp_path / "tissue.toml"
    never_burns.write_text(f'based_on = "{material}"\nburn_off_temperature = "9000 degC"\n')
    target = target_of(scenario_of_shot(material, "1 W", "1 mm", "1 ms"))
    limits = throwing(target.layers[0].medium, target.initial_temperature)
    assert limits is not None

    def depth(irradiance: float, radiant_exposure: float) -> float:
        power, dwell = irradiance * math.pi * 0.5e-3**2, radiant_exposure / irradiance
        even: Any = {"profile": "flat-top", "cell_depth": "6 um", "cell_width": "250 um"}
        shot = spotdwell.shot(str(never_burns), f"{power!r} W", "1 mm", f"{dwell!r} s", **even)
        return shot.measures["crater_depth"] or 0.0

    # Estimates without conduction are a third or so off, either way. A cell is 6 um.
    assert depth(limits.begins / 1.5, 4e6) < 1e-6  # chars to air at a snail's pace
    assert depth(limits.begins * 1.8, 4e6) >= 6e-6
    # Three times as much light removes 2.5 times as much above, and hardly more below.
    assert depth(limits.lasts * 1.5, 6e6) > 2.5 * depth(limits.lasts * 1.5, 2e6)
    assert depth(limits.lasts / 2.0, 6e6) < 1.5 * depth(limits.lasts / 2.0, 2e6)


def test_limits_name_what_is_broken_with_numbers() -> None:
    trial = Trial(1.0, "1 W", 5e-4, False, 5e-4, 2e-4, 30e-6, 120e-6, "charred", 1.0)
    assert Limits(30e-6, 120e-6, 5e-4, 2.5).broken(trial) == []
    broken = Limits(29e-6, 119e-6, 4.9e-4, 2.4).broken(trial)
    assert [text.split(" is ")[0] for text in broken[:3]] == [
        "Char at floor or wall",
        "The coagulated layer at floor or wall",
        "The deepest point",
    ]
    assert "30.0 um, over the limit of 29.0 um" in broken[0]
    assert "2.5 times as deep as wide" in broken[3]


def random_target(random: np.random.Generator) -> tuple[str, str, dict[str, str]]:
    """Material, the depth that a random shot removes, and two of its three settings.

    So an answer exists: a depth drawn at random may lie in the jump between ejection and burning.
    """
    setting = {
        "power": f"{random.uniform(10.0, 40.0):.1f} W",
        "spot": f"{random.uniform(0.5, 1.0):.2f} mm",
        "dwell": f"{random.uniform(5.0, 30.0):.1f} ms",
    }
    material = str(random.choice(["soft_tissue", "skin", "oral_mucosa"]))
    depth = spotdwell.shot(material, **setting).measures["crater_depth"] or 0.0
    del setting[str(random.choice(["power", "spot", "dwell"]))]
    return material, f"{1e6 * depth:.0f} um", setting


@pytest.mark.compiled
@pytest.mark.parametrize("seed", range(10))
def test_a_random_sized_setting_removes_the_wanted_depth_when_it_is_run_again(seed: int) -> None:
    material, depth, given = random_target(np.random.default_rng(100 + seed))
    found = size(material, depth, **given)
    assert found.found
    again = spotdwell.shot(material, **given, **{str(found.unknown): found.trial.text})
    # 3 % is what sizing promises.
    assert_allclose(again.measures["crater_depth"], found.depth, rtol=0.03)
    assert_allclose(again.measures["crater_depth"], found.trial.depth, rtol=1e-9)  # the same run


@pytest.mark.compiled
def test_where_limits_are_broken_the_advised_setting_keeps_them() -> None:
    found = size("soft_tissue", "200 um", power="5 W", spot="0.8 mm", coagulation_limit="150 um", **COARSE)
    assert found.reached and not found.found and found.setting is None
    assert "The coagulated layer at floor or wall is" in found.obstacles[0]
    advised = next(text for text in found.advice if text.startswith("With power"))
    power, rest = advised.removeprefix("With power ").split(", dwell ")
    dwell = rest.split(" removes")[0]
    again = spotdwell.shot("soft_tissue", power, "0.8 mm", dwell, **COARSE).measures
    thickest = max(again[f"coagulation_thickness_{place}"] or 0.0 for place in ("floor", "wall"))
    assert thickest <= 150e-6
    assert_allclose(again["crater_depth"], 200e-6, rtol=0.03)  # what sizing promises


@pytest.mark.compiled
def test_a_limit_that_holds_changes_nothing() -> None:
    free = size("soft_tissue", "200 um", power="20 W", dwell="10 ms", **COARSE)
    kept = size(
        "soft_tissue",
        "200 um",
        power="20 W",
        dwell="10 ms",
        coagulation_limit="1 mm",
        char_limit="1 mm",
        **COARSE,
    )
    assert kept.found and kept.trial == free.trial and kept.advice == ()


@pytest.mark.compiled
def test_what_only_dries_is_said_to_let_its_steam_escape() -> None:
    found = size("soft_tissue", "300 um", power="0.5 W", spot="2 mm", at_most="200 ms", **COARSE)
    assert not found.found
    assert "Nothing is removed" in found.obstacles[0] and "10 us to 200 ms" not in found.obstacles[1]
    assert "steam escapes from soft_tissue faster than it gathers" in found.obstacles[1]
    assert "at_most" in found.advice[0]


@pytest.mark.parametrize(("powers", "real"), [(("20 W", "20.1 W"), True), (("200 W", "201 W"), False)])
def test_a_gap_where_tissue_goes_over_to_being_thrown_out_is_named(
    powers: tuple[str, str], real: bool
) -> None:
    # On 1 mm these are 51 and 510 W/mm2 at the peak; throwing out lasts from some 71 on.
    scenario = scenario_of_shot("soft_tissue", "1 W", "1 mm", "50 ms")
    less, more = (
        Trial(float(text.split()[0]), text, depth, False)
        for text, depth in zip(powers, (1e-4, 5e-4), strict=True)
    )
    said = obstacles(
        TrialRuns(scenario, Unknown.POWER, 1e-3, Listener()),
        SearchResult(less, less, more, -0.6),
        WANTED,
        (0.1, 1e3),
    )
    assert f"The depth jumps past 300 um: power {powers[0]} removes 100 um" in said[0]
    assert ("goes over from drying and burning off to being thrown out" in " ".join(said)) == real


@pytest.mark.compiled
def test_a_sheet_that_is_cut_through_at_once_is_told() -> None:
    sheet: Any = {"thickness": "0.2 mm", "backing": "open air"}
    found = size("soft_tissue", "100 um", power="40 W", spot="0.4 mm", at_least="20 ms", **sheet, **COARSE)
    assert not found.found and found.result is None
    assert "cuts the target through" in found.obstacles[0]


GOOD: dict[str, Any] = {"material": "skin", "depth": "300 um", "power": "20 W", "dwell": "20 ms"}
WRONG: list[tuple[dict[str, Any], str]] = [
    ({"spot": "1 mm"}, "settings: expected two of power, spot and dwell, got all three"),
    ({"dwell": None}, "settings: expected two of power, spot and dwell, got no spot and no dwell"),
    ({"depth": "0 um"}, "depth: expected more than 0"),
    ({"depth": "-1 um"}, "depth: expected more than 0"),
    ({"depth": "inf m"}, "depth: expected more than 0 m and finite"),
    ({"depth": "300"}, "depth: expected a quantity in m"),
    ({"depth": "2 mm", "thickness": "2 mm"}, "depth: expected less than the target's thickness"),
    ({"depth_limit": "200 um"}, "depth: expected no more than the depth limit"),
    ({"coagulation_limit": "0 um"}, "coagulation_limit: expected more than 0"),
    ({"char_limit": "-1 um"}, "char_limit: expected at least 0"),
    ({"at_least": "2 mm", "at_most": "1 mm"}, "at_most: expected more than 2 mm"),
    ({"at_least": "20 mm"}, "at_least: expected less than 10 mm"),
    ({"at_most": "1 W"}, "at_most: expected a quantity in m"),
    ({"material": "water_film_"}, "material: expected a known material"),
]


@pytest.mark.parametrize(("changes", "said"), WRONG, ids=str)
def test_a_wrong_request_is_named(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError) as raised:
        size(**{**GOOD, **changes})
    assert str(raised.value).startswith(said)
