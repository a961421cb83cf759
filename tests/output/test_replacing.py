"""What is there gives way only to its own kind."""

from __future__ import annotations

import pytest

from spotdwell.base.errors import InputError
from spotdwell.cards.card import _HINTS
from spotdwell.output.sealed import SIGNATURE, sealed
from spotdwell.output.whole_file import MAP, RESULT, check_replaceable, replacing

CARD = "\n".join([*_HINTS, "power [W],dwell [ms],spot [mm],depth [um],repeat", "5,10,0.8,{},A1"])


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("new.h5", None),
        ("empty.h5", b""),
        ("run.h5", sealed(SIGNATURE + b"x", RESULT, 1)),
        ("cut.png", b"\x89PNG.....spotdwell"),
        ("cut.svg", b"<?xml?><svg>spotdwell"),
        ("card.csv", CARD.format("").encode()),
        ("map.csv", b"power [W],verdict,failure,deepest [m]\n5,clean,,1e-4\n"),
        ("laser.toml", b'source = "D-squared method; 95 % interval"'),
    ],
)
def test_nothing_or_one_of_our_own_kind_gives_way(tmp_path, name, data):
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    check_replaceable(path)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("map.h5", sealed(SIGNATURE + b"x", MAP, 1)),
        ("thesis.h5", SIGNATURE + b"years of work"),
        ("photo.png", b"\x89PNG of a holiday"),
        ("notes.svg", b"notes by spotdwell"),
        ("card.csv", CARD.format("320").encode()),
        ("mine.csv", b"a,b\n1,2\n"),
        ("mine.toml", b'title = "mine"'),
        ("mine", b"spotdwell"),
    ],
)
def test_any_other_file_stays_unless_it_is_forced(tmp_path, name, data):
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(InputError, match="Choose another name"):
        check_replaceable(path)
    with replacing(True):
        check_replaceable(path)
    with pytest.raises(InputError, match="Choose another name"):
        check_replaceable(path)


def test_a_map_gives_way_to_a_map_only(tmp_path):
    path = tmp_path / "map.h5"
    path.write_bytes(sealed(SIGNATURE + b"x", MAP, 1))
    check_replaceable(path, MAP)
    with pytest.raises(InputError, match="a spotdwell map"):
        check_replaceable(path, RESULT)


def test_pictures_and_documents_say_whose_they_are(make, tmp_path):
    result = make()
    for name in ("a.png", "a.svg", "a.pdf"):
        result.plot(tmp_path / name)
        check_replaceable(tmp_path / name)


def test_a_title_that_looks_like_a_formula_is_drawn_as_it_stands(make, tmp_path):
    import dataclasses

    result = make()
    setting = {**result.setting, "title": r"costs $5 and $\frac{x"}
    dataclasses.replace(result, setting=setting).plot(tmp_path / "a.svg")
    assert r"costs $5 and $\frac{x" in (tmp_path / "a.svg").read_text(encoding="utf-8")
