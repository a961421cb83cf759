"""What a run costs, in steps and cell updates, does not creep up, and its record does not go stale."""

import importlib.util
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

from spotdwell import library

BENCHMARKS = Path(__file__).parents[2] / "benchmarks"
RECORD = tomllib.loads((Path(__file__).parent / "cost.toml").read_text(encoding="utf-8"))
MOST_UPDATES = 300_000_000
"""A scenario that takes more, about a second, is recorded but not tried here."""
DEARER, CHEAPER = 1.02, 0.95
"""Rounding on another machine moves these medians by some 1 %; a gain of 5 % is worth keeping."""
CHEAP = [name for name, cost in RECORD.items() if cost["cell_updates"] <= MOST_UPDATES]


def complaint(name: str, key: str, count: int, recorded: int) -> str | None:
    """What is wrong with a count, or None."""
    if count > DEARER * recorded:
        return f"{name} takes {count:,} {key}, {count / recorded - 1:.1%} more than the {recorded:,} recorded"
    if count < CHEAPER * recorded:
        fewer = (
            f"{name} takes {count:,} {key}, {1 - count / recorded:.1%} fewer than the {recorded:,} recorded"
        )
        return f"{fewer}: keep the gain with python benchmarks/run.py --record-counts"
    return None


@pytest.fixture(scope="module")
def counting(request: pytest.FixtureRequest) -> ModuleType:
    """The module that counts, from the folder of benchmarks, which is no package."""
    sys.path.insert(0, str(BENCHMARKS))
    request.addfinalizer(lambda: sys.path.remove(str(BENCHMARKS)))
    spec = importlib.util.spec_from_file_location("benchmark_counts", BENCHMARKS / "counts.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.compiled
@pytest.mark.parametrize("name", CHEAP)
def test_shipped_scenario_costs_what_is_recorded(name, counting):
    counts = dict(zip(counting.KEYS, counting.counts_of(name), strict=True))
    complaints = [complaint(name, key, counts[key], RECORD[name][key]) for key in ("steps", "cell_updates")]
    assert not any(complaints), "; ".join(one for one in complaints if one)


def test_every_shipped_scenario_is_recorded():
    assert set(RECORD) == set(library.names(library.Shelf.SCENARIOS))


@pytest.mark.parametrize(
    ("count", "said"), [(1000, None), (1020, None), (1021, "more"), (950, None), (949, "--record-counts")]
)
def test_complaint_is_of_two_percent_more_or_five_percent_fewer(count, said):
    found = complaint("spot", "steps", count, 1000)
    assert found is None if said is None else said in found
