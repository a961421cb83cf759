"""What the kernels work on says its units, and each number that they write has a place of its own."""

import ast
import re
from enum import IntEnum
from itertools import pairwise
from pathlib import Path

import pytest

from spotdwell.kernels import layout, slots
from spotdwell.solve.outcome import LEDGER_TERMS

UNIT = re.compile(r"\[[^\]]+\]")


def fields(module):
    """(class, field, docstring) of every field of a module's classes."""
    for made in ast.parse(Path(module.__file__).read_text(encoding="utf-8")).body:
        body = made.body if isinstance(made, ast.ClassDef) else []
        for line, after in pairwise([*body, None]):
            target = getattr(line, "target", None) or next(iter(getattr(line, "targets", [])), None)
            if isinstance(target, ast.Name):
                text = ast.unparse(after) if isinstance(after, ast.Expr) else ""
                yield made.name, target.id, text


@pytest.mark.parametrize(
    ("owner", "name", "text"),
    [*fields(layout), *fields(slots)],
    ids=lambda value: value if len(value) < 30 else "",
)
def test_every_field_says_its_unit(owner, name, text):
    assert UNIT.search(text), f"{owner}.{name} does not say its unit"


@pytest.mark.parametrize("places", [slots.Term, slots.Tally, slots.Row])
def test_places_are_counted_from_0_without_a_gap(places):
    assert issubclass(places, IntEnum)
    assert sorted(places) == list(range(len(places)))


def test_the_ledger_is_the_terms_in_their_places():
    assert [LEDGER_TERMS[term] for term in slots.Term] == [term.name.lower() for term in slots.Term]
    assert len(LEDGER_TERMS) == slots.MASS and slots.LEDGER + len(LEDGER_TERMS) == slots.ROW
