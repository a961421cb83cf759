"""Ranges that are clean: found where they are, gaps included, without assuming that depth rises or falls."""

import numpy as np
import pytest

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.measure.verdict import Word
from spotdwell.sizing import clean
from spotdwell.sizing.trials import Trial


def test_ranges_with_a_gap_are_found_to_two_per_cent(monkeypatch):
    """Clean from 0.3 to 0.9 mm and from 1.5 to 2.2 mm, as a made-up verdict says."""

    def tried(task):
        _, unknown, value = task
        word = Word.CLEAN if 0.3e-3 <= value <= 0.9e-3 or 1.5e-3 <= value <= 2.2e-3 else Word.CHARRED
        return Trial(value, unknown.written(value), 1e-4, False, char=abs(value - 1.8e-3), word=str(word))

    monkeypatch.setattr(clean, "_tried", tried)
    monkeypatch.setattr(clean, "run", lambda _: None)
    found = spotdwell.size_clean("soft_tissue", power="10 W", dwell="10 ms", workers=1)
    np.testing.assert_allclose(found.spans, [(0.3e-3, 0.9e-3), (1.5e-3, 2.2e-3)], rtol=0.02)
    assert all(any(trial.value == end for trial in found.trials) for span in found.spans for end in span)
    assert found.cleanest.char == min(one.char for one in found.trials if one.word == Word.CLEAN)
    assert clean.range_text(found)[0].startswith("Clean from 0.30")


@pytest.mark.compiled
def test_the_cleanest_is_a_shot_that_is_clean():
    options = {"power": "25 W", "dwell": "40 ms", "refinement": 0.4}
    found = spotdwell.size_clean("soft_tissue", at_least="0.8 mm", at_most="4 mm", workers=1, **options)
    assert found.found and found.result.verdict.word is Word.CLEAN
    again = spotdwell.shot("soft_tissue", spot=found.cleanest.text, **options)
    assert again.measures == found.result.measures
    for low, high in found.spans:
        inside = spotdwell.shot("soft_tissue", spot=f"{1e3 * np.sqrt(low * high):.4g} mm", **options)
        assert inside.verdict.word is Word.CLEAN


def test_two_of_the_three_settings_are_needed():
    with pytest.raises(InputError, match="two of power, spot and dwell"):
        spotdwell.size_clean("soft_tissue", power="10 W")
