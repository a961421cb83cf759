"""Scan: a patch as a slice across its lines, and a smaller one as a block, against one shot."""

from __future__ import annotations

import resource
import time
from typing import Any

from rows import Row, at_most, written
from timing import by_turns, keep_to_one_core

MATERIAL, POWER, SPOT = "soft_tissue", "30 W", "0.2 mm"
LINES = {"spacing": "0.1 mm", "speed": "465 mm/s", "passes": 2}
TITLE = "A scanned patch"
ABOUT = (
    f"{MATERIAL}, {POWER}, {SPOT}, lines {LINES['spacing']} apart at {LINES['speed']}, two passes: 8 x 8 mm "
    "(80 lines) as a slice, by turns with one shot of 25 W on 1.6 mm for 80 ms, and 2 x 2 mm as a block once."
)
SLICE_BAR, BLOCK_BAR, MEMORY_BAR = 40.0, 400.0, 1.0


def rows(quick: bool) -> list[Row]:
    """Times over that of one shot, and memory; the block is left out if quick."""
    keep_to_one_core()
    import spotdwell

    calls: dict[str, Any] = {
        "shot": lambda: spotdwell.shot(MATERIAL, "25 W", "1.6 mm", "80 ms"),
        "slice": lambda: spotdwell.scan(MATERIAL, POWER, SPOT, length="8 mm", **LINES),
    }
    timed = by_turns(calls, 1 if quick else 3)
    shot, found = timed["shot"].median, timed["slice"].value
    updates = found.record.cost["cell_updates"] / timed["shot"].value.cost["cell_updates"]
    table = [
        Row("one shot", written(shot, "s")),
        Row("the slice", written(timed["slice"].median, "s")),
        at_most("the slice over the shot", timed["slice"].median / shot, SLICE_BAR, "times"),
        Row("its cell updates over the shot's", written(updates, "times")),
    ]
    if not quick:
        began = time.perf_counter()
        spotdwell.scan(MATERIAL, POWER, SPOT, length="2 mm", model="block", **LINES)
        took = time.perf_counter() - began
        table.append(Row("the block", written(took, "s")))
        table.append(at_most("the block over the shot", took / shot, BLOCK_BAR, "times"))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    return [*table, at_most("most memory", peak, MEMORY_BAR, "GB")]
