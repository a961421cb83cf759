"""Parts: a scan marched part by part is the scan marched as a whole, for less."""

import numpy as np
import pytest

import spotdwell
from spotdwell.solve import parts

pytestmark = pytest.mark.compiled
LINES = {"length": "2 mm", "width": "0.8 mm", "spacing": "0.1 mm"}
PATTERNS = {
    "long gaps": {**LINES, "speed": "465 mm/s"},
    "hardly any gaps": {**LINES, "length": "0.6 mm", "speed": "800 mm/s", "way": "one way"},
    "pauses": {**LINES, "speed": "465 mm/s", "line_pause": "150 ms"},
}


@pytest.mark.parametrize("pattern", PATTERNS.values(), ids=PATTERNS)
def test_parts_leave_what_the_whole_leaves(pattern, monkeypatch):
    split = spotdwell.scan("soft_tissue", "30 W", "0.2 mm", **pattern)
    monkeypatch.setattr(parts, "BESIDE", 1e3)  # all columns are near the beam
    whole = spotdwell.scan("soft_tissue", "30 W", "0.2 mm", **pattern)
    assert split.record.cost["cell_updates"] < 0.95 * whole.record.cost["cell_updates"]
    assert split.ledger_error < 1e-12
    for name in ("depth_mean", "depth_least", "depth_greatest"):
        assert split.measures[name] == pytest.approx(whole.measures[name], rel=0.015), name
    for name in ("coagulation_mean", "coagulation_worst", "coagulation_edge"):
        # The grid's own error is 5 % or 3 um.
        assert split.measures[name] == pytest.approx(whole.measures[name], rel=0.03), name
    assert split.measures["meets_greatest"] == pytest.approx(whole.measures["meets_greatest"], abs=3.0)


def test_a_history_goes_on_in_time_and_its_ledger_closes_in_every_row():
    record = spotdwell.scan("soft_tissue", "30 W", "0.2 mm", **PATTERNS["pauses"]).record
    history = record.history
    assert np.all(np.diff(history.time) > 0.0)
    assert np.all(np.diff(history.deepest) >= 0.0)
    incident, rest = history.ledger[:, 0], history.ledger[:, 1:].sum(axis=1)
    np.testing.assert_allclose(rest, incident, atol=1e-9 * incident[-1])
