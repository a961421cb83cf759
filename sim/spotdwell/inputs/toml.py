"""TOML from anybody: whatever is wrong with it becomes one `InputError`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from spotdwell.base import foreign
from spotdwell.base.errors import InputError
from spotdwell.inputs.complaints import Where, key_text, syntax_complaint

MOST_BYTES = 4_000_000
"""Of a TOML file; the longest of ours has 8 kB."""


def table_of(text: str, name: str) -> dict[str, Any]:
    """The tables in TOML `text`; errors call it `name`. Raises InputError."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise syntax_complaint(error, name) from None
    except RecursionError:
        raise InputError(name, f"at most {foreign.DEEPEST} tables within tables", "a deeper nest") from None
    except ValueError as error:
        got = "a number of too many digits" if "digits" in str(error) else str(error)
        raise InputError(name, "TOML with numbers that can be read", got) from None


def check_foreign(data: Mapping[str, Any], where: Where) -> None:
    """Raise InputError for control characters in texts or keys, and for tables nested without end."""
    for place, got in foreign.faults(data):
        expected = "text that can be shown" if "characters" in got else "tables that a person wrote"
        raise InputError(foreign.shown(where(key_text(place))), expected, got, "Take them out.")


def text_in(path: Path, expected: str, where: str = "", advice: str = "", most: int = MOST_BYTES) -> str:
    """Text of the plain file at `path`. Raises InputError, at `where` or else at the path."""
    try:
        return foreign.text_of(path, most)
    except OSError as error:
        reason = error.strerror or "nothing"
    except ValueError as error:
        reason = str(error)
    raise InputError(where or str(path), expected, reason[:1].lower() + reason[1:], advice) from None
