"""The campaign: `python tests/fuzz/campaign.py --minutes 120` goes on with ever new seeds until time is up.

Prints the counts of each part and every miss; ends with 1 if there was one. With `--seed` and `--rounds 1` a
round is the same again, to the byte.
"""

from __future__ import annotations

import argparse
import faulthandler
import sys
import time
from collections.abc import Callable

from cases import Tally, report
from commands import fuzz_commands, fuzz_kills
from files import fuzz_disks, fuzz_files, fuzz_resumes

from inputs import fuzz_inputs

Part = Callable[[int, int], Tally]
PARTS: dict[str, tuple[Part, int]] = {
    "inputs": (fuzz_inputs, 2000),
    "commands": (fuzz_commands, 100),
    "files": (fuzz_files, 400),
    "points": (fuzz_resumes, 200),
    "disks": (fuzz_disks, 60),
    "kills": (fuzz_kills, 30),
}
"""Each part with the cases of one round."""
_HUNG = 900
"""A case that hangs where no Python runs is shown, and ends the campaign [s]."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--rounds", type=int, default=10**9)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--parts", nargs="*", default=list(PARTS), choices=list(PARTS))
    asked = parser.parse_args()
    end, sums = time.monotonic() + 60.0 * asked.minutes, {}
    for number in range(asked.rounds):
        if time.monotonic() >= end:
            break
        for name in asked.parts:
            part, count = PARTS[name]
            faulthandler.dump_traceback_later(_HUNG, exit=True)
            found = part(count, asked.seed + number)
            faulthandler.cancel_dump_traceback_later()
            sums[name] = _added(sums[name], found) if name in sums else found
            print(f"seed {asked.seed + number}  {report([found])}", flush=True)
    print("all", *(tally.line() for tally in sums.values()), sep="\n")
    return int(any(tally.misses for tally in sums.values()))


def _added(one: Tally, other: Tally) -> Tally:
    slowest, worst = max(one.slowest, other.slowest), max(one.worst_ledger, other.worst_ledger)
    misses = one.misses + other.misses
    return Tally(one.part, one.cases + other.cases, one.refused + other.refused, slowest, worst, misses)


if __name__ == "__main__":
    sys.exit(main())
