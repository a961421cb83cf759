"""Errors that a person reads: where, what was expected, what was got, what to do."""

from __future__ import annotations


class SpotdwellError(Exception):
    """Base of every error that the tool reports without a traceback; `exit_code` is the command's."""

    exit_code = 1


class InputError(SpotdwellError):
    """What the user gave cannot be used (exit code 2).

    `where` is a file and key or an option, `expected` and `got` say what is wrong, `advice` what to do.
    """

    exit_code = 2

    def __init__(self, where: str, expected: str, got: str, advice: str = "") -> None:
        self.where = where
        self.expected = expected
        self.got = got
        self.advice = advice
        text = f"{where}: expected {expected}, got {got}"
        super().__init__(f"{text}. {advice}" if advice else text)


class RunError(SpotdwellError):
    """A run that started could not finish or its result could not be kept (exit code 1)."""
