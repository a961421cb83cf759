"""A scenario that needs no other file, to be spoilt one key at a time."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from spotdwell.base.errors import InputError
from spotdwell.inputs.read import scenario_from_dict
from spotdwell.inputs.schema import Scenario
from spotdwell.inputs.shot import put


@pytest.fixture
def data() -> dict[str, Any]:
    return {
        "beam": {"wavelength": "10.6 um", "power": "25 W", "diameter": "1.6 mm"},
        "exposure": {"dwell_time": "80 ms"},
        "target": {"layers": [{"material": "soft_tissue"}]},
    }


@pytest.fixture
def build(data: dict[str, Any]) -> Callable[[dict[str, Any]], Scenario]:
    """Scenario with other values at dotted keys; None deletes one."""

    def with_changes(changes: dict[str, Any]) -> Scenario:
        for key, value in changes.items():
            put(data, key, value)
            if value is None:
                table, _, last = key.rpartition(".")
                place: Any = data
                for step in table.split(".") if table else ():
                    place = place[step]
                del place[last]
        return scenario_from_dict(data, "shot.toml")

    return with_changes


@pytest.fixture
def complaint(build: Callable[[dict[str, Any]], Scenario]) -> Callable[[dict[str, Any]], InputError]:
    """The error that a scenario with these changes raises."""

    def raised_by(changes: dict[str, Any]) -> InputError:
        with pytest.raises(InputError) as raised:
            build(changes)
        return raised.value

    return raised_by
