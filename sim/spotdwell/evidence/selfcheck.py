"""Self-check: runs the tool's own path, from scenario file to outcome, against every closed form."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

from spotdwell import library
from spotdwell.base.errors import InputError
from spotdwell.evidence import checks_crater, checks_front, checks_spot
from spotdwell.evidence.check import Case, Check, Finding

__all__ = ["Check", "check_names", "run_checks"]

_CASES: dict[str, Case] = {
    case.name: case for module in (checks_crater, checks_spot, checks_front) for case in module.CASES
}


def check_names() -> list[str]:
    """Names of all cases, in the order in which they run."""
    return list(_CASES)


def run_checks(
    progress: Callable[[str], None] | None = None, names: Sequence[str] | None = None
) -> list[Check]:
    """Checks of the cases called `names`, or of all; a case holds one or more.

    `progress` is called with a case's title before it runs. A check that misses is returned like any other,
    with `passed` false. Raises InputError for a name that is none.
    """
    chosen = check_names() if names is None else list(names)
    for name in chosen:
        if name not in _CASES:
            advice = library.suggestion(name, tuple(_CASES))
            raise InputError("check", "the name of a check", f'"{name}"', advice)
    return [check for name in chosen for check in _run(_CASES[name], progress)]


def _run(case: Case, progress: Callable[[str], None] | None) -> list[Check]:
    if progress is not None:
        progress(case.title)
    began = time.perf_counter()
    findings = case.find()
    seconds = time.perf_counter() - began
    return [_stamped(case, finding, seconds) for finding in findings]


def _stamped(case: Case, finding: Finding, seconds: float) -> Check:
    return Check(case.name, case.title, **vars(finding), passed=finding.passed, seconds=seconds)
