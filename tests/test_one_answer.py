"""One question, one answer: a setting has the same numbers and the same word through every door."""

import numpy as np
import pytest

import spotdwell
from spotdwell.measure.verdict import Word
from spotdwell.pages.page import page_data

pytestmark = pytest.mark.compiled

SETTINGS = [
    ("soft_tissue", "25 W", "1.6 mm", "80 ms", Word.CLEAN),
    ("soft_tissue", "10 W", "2.5 mm", "100 ms", Word.SCORCHED),
    ("soft_tissue", "60 W", "0.4 mm", "60 ms", Word.TOO_DEEP),
    ("apple", "10 W", "0.6 mm", "20 ms", None),
    ("pmma", "2 W", "1 mm", "10 ms", Word.UNMARKED),
]


@pytest.mark.parametrize(("material", "power", "spot", "dwell", "word"), SETTINGS, ids=str)
def test_shot_card_map_and_page_say_the_same(material, power, spot, dwell, word):
    coarse = {"refinement": 0.4}
    shot = spotdwell.shot(material, power, spot, dwell, **coarse)
    assert word is None or shot.verdict.word == word
    card = spotdwell.card(material, power, dwell, spot=spot, against="none", **coarse)
    assert card.marks[0].measures == shot.measures
    assert card.marks[0].word == shot.verdict.text
    over = f"power: {power}, 99 W", f"dwell: {dwell}, 1 ms"
    cube = spotdwell.map_shots({"material": material, "spot": spot, **coarse}, *over, workers=1)
    assert cube.word[0, 1] == shot.verdict.word
    for name, value in shot.measures.items():
        np.testing.assert_equal(cube.measures[name][0, 1], np.nan if value is None else value)
    reason = page_data(cube)["reasons"][1].replace("\N{NO-BREAK SPACE}", " ").replace("µm", "um")
    assert reason == " ".join(shot.verdict.reasons)


@pytest.mark.parametrize(("material", "celsius"), [("soft_tissue", 37.0), ("apple", 22.0), ("pmma", 22.0)])
def test_a_target_starts_as_warm_through_every_door(material, celsius):
    options = {"spot": "1 mm", "refinement": 0.3}
    card = spotdwell.card(material, "2 W", "1 ms", against="none", **options)
    assert card.bench.temperature == pytest.approx(273.15 + celsius)
    result = spotdwell.shot(material, "2 W", dwell="1 ms", end_time="1 ms", **options)
    deep = result.fields.temperature[:, -1]
    assert deep == pytest.approx(273.15 + celsius, abs=1e-3)
