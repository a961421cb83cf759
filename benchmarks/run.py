"""Time and memory of one shot, cold, with cached kernels and warm: prints the table that README.md shows."""

from __future__ import annotations

import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time

SHOT = ("soft_tissue", "25 W", "1.6 mm", "80 ms")
COMMAND = [sys.executable, "-m", "spotdwell", "shot", "--on", SHOT[0], "--power", SHOT[1], "--spot", SHOT[2]]
COMMAND += ["--dwell", SHOT[3], "--quiet"]
WARM = f"""
import statistics, time, spotdwell
times = []
for _ in range(6):
    began = time.perf_counter()
    result = spotdwell.shot{SHOT!r}
    times.append(time.perf_counter() - began)
cost = result.cost
print(statistics.median(times[1:]), cost["steps"], cost["stages"], cost["cell_updates"])
"""


def whole_process(environment: dict[str, str]) -> float:
    """Wall seconds of one shot from the shell."""
    began = time.perf_counter()
    subprocess.run(COMMAND, env=environment, check=True, capture_output=True)
    return time.perf_counter() - began


def main() -> None:
    environment = os.environ | {"OMP_NUM_THREADS": "1"}
    with tempfile.TemporaryDirectory() as cache:
        environment["NUMBA_CACHE_DIR"] = cache
        cold = whole_process(environment)
        cached = statistics.median(whole_process(environment) for _ in range(5))
        memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
        run = subprocess.run(
            [sys.executable, "-c", WARM], env=environment, check=True, capture_output=True, text=True
        )
    warm, steps, stages, updates = (float(word) for word in run.stdout.split())
    print(f"{', '.join(SHOT)}; Python {platform.python_version()}, {processor()}, one core")
    print()
    print("| case | measured |")
    print("|---|---|")
    print(f"| whole process, first ever (compiles) | {cold:.1f} s |")
    print(f"| whole process, cached kernels, median of 5 | {cached:.2f} s |")
    print(f"| warm in one process, median of 5 | {warm:.2f} s |")
    print(f"| peak memory, the largest process | {memory:.0f} MB |")
    print(f"| steps, stages, cell updates | {steps:.0f}, {stages:.0f}, {updates / 1e6:.0f} million |")


def processor() -> str:
    """Name of the processor, where the system tells."""
    try:
        with open("/proc/cpuinfo") as lines:
            return next(line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or "unknown processor"


if __name__ == "__main__":
    main()
