"""The text of a regime says what it seems to say, and what is wrong with it is told by its name."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError
from spotdwell.regimes.request import BUILT_IN, Kind, regime_of, regimes_of, train_of

EXACT = {"rtol": 1e-12, "atol": 0.0}
"""Products and quotients of a few floats."""


@pytest.mark.parametrize(
    ("text", "kind", "power", "on", "rate"),
    [
        ("continuous", Kind.CONTINUOUS, None, None, None),
        ("Continuous: 4 W", Kind.CONTINUOUS, 4.0, None, None),
        ("gated: 20 ms on, 80 ms off", Kind.GATED, None, 0.02, 10.0),
        ("gated: 20 ms on, 80 ms off, 25 W", Kind.GATED, 25.0, 0.02, 10.0),
        ("chopped: 2 ms at 0.25 kHz", Kind.CHOPPED, None, 0.002, 250.0),
        ("superpulsed: 400 us at 250 Hz, peak 100 W", Kind.SUPERPULSED, 100.0, 4e-4, 250.0),
        ("superpulsed: peak power 0.1 kW, 400 us", Kind.SUPERPULSED, 100.0, 4e-4, None),
        ("short  pulses: 60 us, at 200 Hz", Kind.SHORT_PULSES, None, 6e-5, 200.0),
    ],
)
def test_a_text_gives_its_numbers(text, kind, power, on, rate):
    regime = regime_of(text)
    assert regime.kind is kind
    for got, wanted in ((regime.power, power), (regime.on, on), (regime.rate, rate)):
        assert (got is None) == (wanted is None)
        if wanted is not None:
            assert_allclose(got, wanted, **EXACT)


@pytest.mark.parametrize("text", BUILT_IN)
def test_a_built_in_regime_has_the_asked_average_power(text):
    train = train_of(regime_of(text), 10.0, exactly=True)
    assert_allclose(train.average_power, 10.0, **EXACT)


@pytest.mark.parametrize(
    ("text", "power", "rate"),
    [
        # 10 W over a fifth of the time; 10 W from 0.2 J a pulse; 10 W at 250 Hz from 0.04 J in 400 us.
        ("gated: 20 ms on, 80 ms off", 50.0, 10.0),
        ("superpulsed: 500 us, peak 400 W", 400.0, 50.0),
        ("chopped: 400 us at 250 Hz", 100.0, 250.0),
    ],
)
def test_what_a_regime_leaves_out_follows_from_the_average_power(text, power, rate):
    train = train_of(regime_of(text), 10.0, exactly=True)
    assert_allclose((train.power, train.rate), (power, rate), **EXACT)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("gatd: 20 ms on", "Did you mean gated?"),
        ("gated: 20 ms on", "the time between two exposures"),
        ("gated: 80 ms off", "the time that the beam is on"),
        ("chopped: 2 ms", "a repetition rate or a power"),
        ("superpulsed: 400 us at 250 Hz", 'a power, such as "peak 100 W"'),
        ("short pulses: 60 at 200 Hz", "The unit is missing."),
        ("short pulses: 5 ms at 250 Hz", "Pulses overlap"),
        ("short pulses: 0 us at 250 Hz", "above 0"),
        ("continuous: 3 ms", "no time that the beam is on"),
        ("gated: 20 ms on, 30 ms on, 80 ms off", "once"),
    ],
)
def test_an_error_names_the_regime_and_says_what_to_do(text, said):
    with pytest.raises(InputError) as caught:
        regime_of(text)
    assert f'regime "{text}"' in str(caught.value)
    assert said in str(caught.value)


def test_all_wrong_regimes_are_told_at_once():
    with pytest.raises(InputError, match=r"2 problems") as caught:
        regimes_of(["pulsed", "continuous", "gated"])
    assert '"pulsed"' in str(caught.value) and '"gated"' in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("superpulsed: 400 us at 250 Hz, peak 80 W", "expected an average power of 10 W, got 8.00 W"),
        ("superpulsed: 400 us, peak 5 W", "a peak power of at least the average, 10 W"),
        ("chopped: 2 ms at 250 Hz, 9 W", "a peak power of at least the average, 10 W"),
        ("continuous: 12 W", "expected an average power of 10 W, got 12"),
    ],
)
def test_a_regime_of_another_average_power_is_refused(text, said):
    with pytest.raises(InputError, match=r"regime") as caught:
        train_of(regime_of(text), 10.0, exactly=True)
    assert said in str(caught.value)
