"""Identity: by what a file that a study goes on with is known to be of the same study."""

from __future__ import annotations

from collections.abc import Mapping

from spotdwell.base.errors import InputError

Identity = Mapping[str, str]
"""Everything that results depend on: text by dotted key."""

_NOTHING = "nothing"
_NAMED = 3
"""Differences that an error names."""
_LONGEST = 50
"""Letters of a value that an error shows."""


def check_same(path: str, kept: Identity, wanted: Identity) -> None:
    """Raise InputError that says in what the file at `path` and what is `wanted` differ, if they do."""
    keys = dict.fromkeys([*wanted, *kept])
    apart = [key for key in keys if kept.get(key) != wanted.get(key)]
    if not apart:
        return
    there = [_told(key, kept, wanted) for key in apart[:_NAMED]]
    here = [_told(key, wanted, kept) for key in apart[:_NAMED]]
    if len(apart) > _NAMED:
        there.append(f"{len(apart) - _NAMED} more differences")
    raise InputError(
        path,
        f"a map with {', '.join(here)}",
        f"another map, with {', '.join(there)}",
        "Name another file, or delete this one to compute the map anew",
    )


def _told(key: str, one: Identity, other: Identity) -> str:
    """The value of `one`, shortened to where it differs from that of the `other`."""
    if key not in one:
        return f"no {key}"
    mine, theirs = one[key], other.get(key, _NOTHING)
    if len(mine) <= _LONGEST:
        return f"{key} = {mine}"
    same = next((i for i, (a, b) in enumerate(zip(mine, theirs, strict=False)) if a != b), 0)
    start = max(0, same - _LONGEST // 2)
    return f"{key} = {'...' if start else ''}{mine[start : start + _LONGEST]}..."
