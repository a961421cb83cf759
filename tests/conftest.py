"""Rules for every test: numpy raises on what it would warn of, and some tests need the compiler."""

from __future__ import annotations

import os
from collections.abc import Iterator

import numpy as np
import pytest


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what would take too long interpreted."""
    if os.environ.get("NUMBA_DISABLE_JIT", "0") in ("", "0"):
        return
    skip = pytest.mark.skip(reason="interpreted kernels would take too long")
    for item in items:
        if "compiled" in item.keywords:
            item.add_marker(skip)


@pytest.fixture(autouse=True)
def numpy_raises() -> Iterator[None]:
    """Division by zero, overflow and invalid operations are errors; underflow to 0 is not."""
    with np.errstate(all="raise", under="ignore"):
        yield
