"""Process: a command run to its end, with its wall time, its largest memory and what it said."""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Ended:
    """A process that ended well."""

    seconds: float
    """Wall time from start to end [s]."""
    megabytes: float
    """Largest memory that it held [MB]."""
    output: str
    errors: str


def ended(command: Sequence[str], environment: Mapping[str, str]) -> Ended:
    """Run `command`; raises CalledProcessError with what it said if it fails.

    Call it before large libraries are loaded here: a process inherits the size of the one that starts it as
    its own largest, until it has grown beyond.
    """
    with tempfile.TemporaryDirectory() as folder:
        texts = Path(folder, "output"), Path(folder, "errors")
        with texts[0].open("w") as output, texts[1].open("w") as errors:
            began = time.perf_counter()
            process = subprocess.Popen(command, env=environment, stdout=output, stderr=errors)
            _, status, usage = os.wait4(process.pid, 0)
            seconds = time.perf_counter() - began
        process.returncode = os.waitstatus_to_exitcode(status)
        said = [path.read_text() for path in texts]
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, list(command), *said)
    return Ended(seconds, usage.ru_maxrss * 1024.0 / 1e6, *said)
