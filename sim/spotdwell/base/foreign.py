"""Foreign text: what others wrote (files, options, names), made harmless where it enters and where it leaves.

Control characters steer terminals, and reorder or hide what a reader sees; a cell that begins with = is run
by spreadsheets. They are refused where a file is read, shown as a sign on the terminal, and marked in CSV.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

REPLACEMENT = "\N{REPLACEMENT CHARACTER}"
_PLAIN = "\t\n"
_REORDERING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
_BAD_KINDS = {"Cc", "Cs", "Zl", "Zp"}
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")

DEEPEST = 24
"""Tables within tables of a file: the deepest of ours has six."""


def is_clean(text: str) -> bool:
    """Whether `text` has no control characters, but for tabs and line ends."""
    # Nearly all texts are of printable signs and line ends, which is seen at once.
    return text.isprintable() or not any(map(_is_bad, text))


def shown(text: str) -> str:
    """`text` with a sign for each control character, but for tabs and line ends."""
    if text.isprintable():
        return text
    return "".join(REPLACEMENT if _is_bad(sign) else sign for sign in text)


def cell(text: str) -> str:
    """`text` as a cell of CSV that no spreadsheet takes for a formula."""
    risky = text.startswith(_FORMULA) and not _NUMBER.fullmatch(text)
    return f"'{text}" if risky else text


def from_cell(text: str) -> str:
    """What `cell` made `text` from."""
    return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA) else text


def faults(data: Any) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Place and words of what may not be in the tables of a file: control characters, too deep a nest."""
    left: list[tuple[tuple[str | int, ...], Any]] = [((), data)]
    while left:
        place, value = left.pop()
        if isinstance(value, str) and not is_clean(value):
            yield place, "control characters"
        if isinstance(value, Mapping):
            if any(isinstance(key, str) and not is_clean(key) for key in value):
                yield place, "control characters in a key"
            inner = [((*place, str(key)), one) for key, one in value.items()]
        elif isinstance(value, (list, tuple)):
            inner = [((*place, index), one) for index, one in enumerate(value)]
        else:
            continue
        if len(place) >= DEEPEST:
            yield place[:3], f"more than {DEEPEST} tables within tables"
            return
        left += inner


def text_of(path: str | Path, most: int) -> str:
    """Text of the plain file at `path`, of at most `most` bytes of UTF-8.

    Raises OSError, also for a device or a pipe, which might never end, and ValueError with the reason.
    """
    path = Path(path)
    if path.exists() and not path.is_file():
        raise IsADirectoryError(0, "a folder" if path.is_dir() else "a device or pipe, and no file")
    with path.open("rb") as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise ValueError(f"a file of more than {most / 1e6:g} MB")
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError:
        raise ValueError("a file that is not utf-8 text") from None


def _is_bad(sign: str) -> bool:
    return sign not in _PLAIN and (sign in _REORDERING or unicodedata.category(sign) in _BAD_KINDS)
