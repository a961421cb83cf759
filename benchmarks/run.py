"""Run the benchmarks and print the tables that README.md shows.

python benchmarks/run.py                   all cases, some ten minutes on two idle cores
python benchmarks/run.py --only shot       one of them
python benchmarks/run.py --quick           fewer repeats: for trying, not for quoting
python benchmarks/run.py --record-counts   write tests/regression/cost.toml anew
"""

from __future__ import annotations

import argparse
import importlib
import os
import subprocess
import sys

from machine import machine
from rows import table
from timing import ONE_THREAD

CASES = ("start", "peer", "shot", "many", "train", "scan", "growth", "roofline", "counts")


def main() -> int:
    options = _options()
    os.environ |= ONE_THREAD
    if options.record_counts:
        import counts

        print(f"Recorded {counts.record()}")
        return 0
    if options.case:
        print(section(options.case, options.quick))
        return 0
    print(f"{machine()}. One core but for the case that says two; medians; contestants by turns.", flush=True)
    return max(_in_a_process(name, options.quick) for name in options.only or CASES)


def section(name: str, quick: bool) -> str:
    """Heading, what is measured, and table of a case."""
    case = importlib.import_module(name)
    return "\n".join(("", f"## {case.TITLE}", "", case.ABOUT, "", table(case.rows(quick))))


def _in_a_process(name: str, quick: bool) -> int:
    """Run a case where no other has left threads, memory or compiled code; returns how it ended."""
    command = [sys.executable, __file__, "--case", name, *(["--quick"] if quick else [])]
    return subprocess.run(command, check=False).returncode


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Run the benchmarks and print their tables.")
    parser.add_argument("--only", action="append", choices=CASES, help="run this case; may be given again")
    parser.add_argument("--quick", action="store_true", help="fewer repeats: for trying, not for quoting")
    parser.add_argument("--record-counts", action="store_true", help="write tests/regression/cost.toml anew")
    parser.add_argument("--case", choices=CASES, help=argparse.SUPPRESS)
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
