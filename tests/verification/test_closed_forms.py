"""The tool's own path against every closed form, and the self-check against wrong answers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.evidence import check
from spotdwell.evidence import checks_crater as checks_depth
from spotdwell.evidence.check import half_of, refined, solved
from spotdwell.evidence.selfcheck import check_names, run_checks

pytestmark = pytest.mark.compiled


@pytest.mark.parametrize("name", check_names())
def test_every_check_holds(name: str) -> None:
    checks = run_checks(names=[name])
    assert checks
    for one in checks:
        assert one.passed, one


def test_progress_names_each_case_and_an_unknown_name_is_refused() -> None:
    said: list[str] = []
    run_checks(said.append, ["damage", "pyrolysis"])
    assert len(said) == 2
    with pytest.raises(InputError, match="pyrolysis"):
        run_checks(names=["pyrolisis"])


def test_a_wrong_answer_a_missing_one_and_a_low_order_all_fail() -> None:
    right = check.number("depth", 2.0, 2.001, "m", 1e-3, "a cell")
    assert right.passed
    assert not check.number("depth", 2.0, 2.1, "m", 1e-3, "a cell").passed
    assert not check.number("depth", 2.0, math.nan, "m", 1e-3, "a cell").passed
    assert not replace(right, order=1.0).passed
    assert replace(right, order=2.0).passed
    shifted = check.position("front", 10e-6, 12e-6, 1e-6, 1.0, "a cell")
    assert_allclose(shifted.error, 2.0, rtol=1e-9)  # in cells
    assert not shifted.passed


def test_a_field_is_judged_at_its_worst_point() -> None:
    found = check.field("profile", np.array([4.0, 2.0, 1.0]), np.array([4.0, 2.4, 1.0]), "K", 0.05, "")
    assert (found.claimed, found.computed) == (2.0, 2.4)
    assert_allclose(found.error, 0.1, rtol=1e-12)  # 0.4 of 4
    assert not found.passed


def test_a_wrong_conductivity_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same run under a conductivity 2 % too high misses its closed form."""
    changed = {"materials.opaque.conductivity.value": "0.51 W/m/K"}
    monkeypatch.setattr(checks_depth, "solved", lambda name, _=None: solved(name, changed))
    monkeypatch.setattr(checks_depth, "half_of", lambda outcome: replace(half_of(outcome), k=0.5))
    assert not any(found.passed for found in checks_depth.surface_flux())


def test_surface_flux_gives_the_published_numbers() -> None:
    """(2 q / k) sqrt(alpha t / pi) for q = 1 MW/m2, k = 0.5 W/m/K, rho c = 3.78 MJ/m3/K, worked by hand."""
    half = half_of(solved("surface_flux"))
    surface = [half.rise(s)[0, 0] + 1e6 * half.cell / (2.0 * 0.5) for s in half.outcome.snapshots]
    # 2e-3 is what steps and half a cell explain at 1 ms.
    assert_allclose(surface, [25.955, 82.078, 259.55], rtol=2e-3)


def test_water_like_absorption_gives_the_worked_table() -> None:
    """eq. B1 for water's numbers at 1 kW/cm2, at 0, 5, 11.82, 25, 50 and 100 um."""
    half = half_of(solved("absorption", refined(4.0)))
    table = {
        1: [16.229, 13.288, 7.824, 2.571, 0.310, 0.0045],
        2: [111.82, 103.88, 80.05, 36.32, 5.10, 0.075],
    }
    at = np.array([0.25e-6, 5e-6, 11.82e-6, 25e-6, 50e-6, 100e-6])
    for index, wanted in table.items():
        found = np.interp(at, half.depth, half.rise(half.outcome.snapshots[index])[0])
        # The table's last digits, and straight interpolation between cells of 0.5 um.
        assert_allclose(found, wanted, rtol=1e-3, atol=6e-3)
