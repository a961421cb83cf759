"""Parts: a scan marched part by part is the scan marched as a whole, for less."""

import numpy as np
import pytest

import spotdwell
from spotdwell.scans.light import BlockLight, SliceLight

pytestmark = pytest.mark.compiled
LINES = {"length": "2 mm", "width": "0.8 mm", "spacing": "0.1 mm"}
PATTERNS = {
    "long gaps": {**LINES, "speed": "465 mm/s"},
    "hardly any gaps": {**LINES, "length": "0.6 mm", "speed": "800 mm/s", "way": "one way"},
    "pauses": {**LINES, "speed": "465 mm/s", "line_pause": "150 ms"},
}
SMALL = {"length": "0.5 mm", "spacing": "0.1 mm", "cell_width": "25 um", "cell_depth": "12 um"}
BLOCKS = {
    "lines": {**SMALL, "speed": "465 mm/s", "model": "block"},
    "turned passes": {**SMALL, "speed": "800 mm/s", "passes": 2, "turned": True, "pass_pause": "20 ms"},
    "points": {**SMALL, "way": "points", "dwell": "0.3 ms", "spacing": "0.15 mm", "line_pause": "1 ms"},
}


@pytest.mark.parametrize("pattern", (PATTERNS | BLOCKS).values(), ids=PATTERNS | BLOCKS)
def test_parts_leave_what_the_whole_leaves(pattern, monkeypatch):
    split = spotdwell.scan("soft_tissue", "30 W", "0.2 mm", **pattern)
    for light in (SliceLight, BlockLight):
        # All columns are near the beam.
        monkeypatch.setattr(light, "near", lambda one, *_: np.arange(one.columns.count))
    whole = spotdwell.scan("soft_tissue", "30 W", "0.2 mm", **pattern)
    assert split.record.cost["cell_updates"] < 0.95 * whole.record.cost["cell_updates"]
    assert split.ledger_error < 1e-12
    # Cells of the blocks are 12 um high: a third of one in the mean, one where a single column decides.
    for name, error in (("depth_mean", 4e-6), ("depth_least", 12e-6), ("depth_greatest", 12e-6)):
        assert split.measures[name] == pytest.approx(whole.measures[name], rel=0.015, abs=error), name
    for name in ("coagulation_mean", "coagulation_worst", "coagulation_edge"):
        # The grid's own error is 5 % or 3 um.
        assert split.measures[name] == pytest.approx(whole.measures[name], rel=0.03), name
    rise = whole.measures["meets_greatest"] - 310.15
    assert split.measures["meets_greatest"] - 310.15 == pytest.approx(rise, rel=0.05, abs=3.0)


def test_a_history_goes_on_in_time_and_its_ledger_closes_in_every_row():
    record = spotdwell.scan("soft_tissue", "30 W", "0.2 mm", **PATTERNS["pauses"]).record
    history = record.history
    assert np.all(np.diff(history.time) > 0.0)
    assert np.all(np.diff(history.deepest) >= 0.0)
    incident, rest = history.ledger[:, 0], history.ledger[:, 1:].sum(axis=1)
    np.testing.assert_allclose(rest, incident, atol=1e-9 * incident[-1])
