"""Machine: processor, system and versions, in one sentence for the head of a table."""

from __future__ import annotations

import os
import platform
import shutil
import subprocess
from importlib import metadata

ALWAYS = ("spotdwell", "numpy", "scipy", "numba")
PEERS = ("devito", "jax")


def machine() -> str:
    """Processor, cores that this process may use, system, and versions of what is compared."""
    versions = [f"{name} {found}" for name in (*ALWAYS, *PEERS) if (found := version(name))]
    system = f"{cores()} cores, {platform.system()}"
    python = f"Python {platform.python_version()}"
    return ", ".join((f"{processor()}, {system}", python, *versions, *compiler()))


def version(name: str) -> str | None:
    """Version of a package, None where it is not installed."""
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def processor() -> str:
    """Name of the processor, where the system tells."""
    try:
        with open("/proc/cpuinfo") as lines:
            return next(line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or "unknown processor"


def compiler() -> list[str]:
    """Name and version of the C compiler that Devito uses, if there is one."""
    if shutil.which("gcc") is None:
        return []
    said = subprocess.run(["gcc", "-dumpfullversion"], capture_output=True, text=True, check=False).stdout
    return [f"gcc {said.strip()}"]
