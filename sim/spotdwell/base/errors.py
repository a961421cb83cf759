"""Errors that a person reads: where, what was expected, what was got, what to do."""

from __future__ import annotations

from collections.abc import Callable, Sequence


class SpotdwellError(Exception):
    """Base of every error that the tool reports without a traceback; `exit_code` is the command's."""

    exit_code = 1


class InputError(SpotdwellError):
    """What the user gave cannot be used (exit code 2).

    `where` is the name of a setting or keyword, which further words may follow ("over power"), or a file and
    key; `expected` and `got` say what is wrong, `advice` what to do. `problems` are errors told as one.
    """

    exit_code = 2

    def __init__(
        self, where: str, expected: str, got: str, advice: str = "", problems: Sequence[InputError] = ()
    ) -> None:
        self.where = where
        self.expected = expected
        self.got = got
        self.advice = advice
        self.problems = tuple(problems)
        text = f"{where}: expected {expected}, got {got}"
        lines = "".join(f"\n  {one}" for one in problems)
        super().__init__(f"{text}. {advice}{lines}" if advice else text)

    def renamed(self, name: Callable[[str], str]) -> InputError:
        """The same error with another `name` for each place."""
        problems = [one.renamed(name) for one in self.problems]
        return InputError(name(self.where), self.expected, self.got, self.advice, problems)

    def __reduce__(self) -> tuple[type[InputError], tuple[object, ...]]:
        # An error of a worker travels between processes.
        return InputError, (self.where, self.expected, self.got, self.advice, self.problems)


class UnknownSetting(InputError, TypeError):
    """A keyword that is no setting: also the TypeError that Python raises for one."""


class RunError(SpotdwellError):
    """A run that started could not finish or its result could not be kept (exit code 1)."""


def together(problems: Sequence[InputError], where: str) -> InputError:
    """The one error, or one that lists them all."""
    if len(problems) == 1:
        return problems[0]
    return InputError(
        where or "settings", "valid input", f"{len(problems)} problems", "Correct each:", problems
    )


def lone(where: str, companion: str, advice: str = "") -> InputError:
    """Error for a setting that means nothing without its `companion`."""
    return InputError(where, f"{companion} beside it", "none", advice or f"Add {companion}.")


def check_workers(workers: int | None) -> None:
    """Raise InputError for a number of processes that is none."""
    if workers is not None and workers < 1:
        raise InputError("workers", "a whole number from 1", str(workers), "Leave it out: one a core.")
