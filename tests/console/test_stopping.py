"""A request to stop is carried out wherever it comes."""

from __future__ import annotations

import signal
import time

import pytest

from spotdwell.console.stopping import stopping


class Finalised:
    """Gets the signal while Python finalises it, where what is raised is dropped."""

    def __init__(self, number: signal.Signals) -> None:
        self.number = number

    def __del__(self) -> None:
        signal.raise_signal(self.number)
        time.sleep(0.0)


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_request_that_python_drops_is_made_again_without_a_word(capsys, number, code):
    reached = []
    with stopping() as asked, pytest.raises(KeyboardInterrupt):
        Finalised(number)
        reached.append("after the finaliser")
        time.sleep(5.0)
    assert reached == ["after the finaliser"]
    assert asked.exit_code(130) == code
    assert capsys.readouterr().err == ""


def test_other_errors_that_python_drops_are_told_as_before(monkeypatch):
    told = []
    monkeypatch.setattr("sys.unraisablehook", told.append)

    class Faulty:
        def __del__(self) -> None:
            raise ValueError

    with stopping():
        Faulty()
    assert [one.exc_type for one in told] == [ValueError]
