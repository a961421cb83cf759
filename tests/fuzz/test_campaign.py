"""A minute of the campaign, always the same: no traceback, no hang, nothing partial or not finite."""

from __future__ import annotations

import numpy as np
import pytest
from cases import Tally, report
from commands import fuzz_commands, fuzz_kills
from files import fuzz_disks, fuzz_files, fuzz_resumes

from inputs import fuzz_inputs

PARTS = [
    (fuzz_inputs, 800),
    (fuzz_commands, 40),
    (fuzz_files, 120),
    (fuzz_resumes, 40),
    (fuzz_disks, 20),
    (fuzz_kills, 9),
]
pytestmark = pytest.mark.compiled


@pytest.mark.parametrize(("part", "count"), PARTS, ids=[part.__name__ for part, _ in PARTS])
def test_a_part_of_the_campaign_has_no_miss(part, count):
    with np.errstate(all="warn"):
        found = part(count, 20)
    assert found.cases == count
    assert not found.misses, report([found])


def test_a_traceback_a_hang_and_a_wrong_answer_are_misses(monkeypatch):
    monkeypatch.setattr("cases.LONGEST", -1.0)
    tally = Tally("x")
    tally.judge("fails", lambda: 1 / 0)
    assert len(tally.misses) == 2
    assert "ZeroDivisionError" in tally.misses[0] and "took" in tally.misses[1]
