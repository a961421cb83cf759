"""Saving: the files that a verb is to write, checked before the work, written whole and told of."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

from rich.console import RenderableType

from spotdwell.base.errors import InputError, SpotdwellError
from spotdwell.console.screen import SAFETY, Interrupted, complain, mention, say, text_of
from spotdwell.output.whole_file import RESULT, check_writable, whole_file

SUFFIXES = {
    "h5": (".h5", ".hdf5"),
    "picture": (".png", ".svg", ".pdf"),
    "csv": (".csv",),
    "html": (".html", ".htm"),
    "pdf": (".pdf",),
    "toml": (".toml",),
}
"""Of the files that verbs write, by their kind."""

Write = Callable[[Path], object]


class Files:
    """The files that a verb is to write, and what it says of them."""

    def __init__(self, quiet: bool = False, as_json: bool = False) -> None:
        self.quiet, self.as_json = quiet, as_json
        self.expected: list[Path] = []
        self.kept: list[Path] = []

    def check(self, option: str, path: Path | None, kind: str, holds: str = RESULT) -> None:
        """Expect `path`, if it is one, by this `option`; an HDF5 file `holds` a result or a map.

        Raises InputError for another suffix than the `kind` has, and for a file that must not be replaced,
        and RunError where it cannot be written.
        """
        if path is None:
            return
        known = SUFFIXES[kind]
        if path.suffix.lower() not in known:
            expected = (
                f"a file name that ends in {', '.join(known[:-1])}{' or ' if known[1:] else ''}{known[-1]}"
            )
            raise InputError(option, expected, f'"{path}"', f"Name it {path.stem}{known[0]}.")
        check_writable(path, holds)
        self.expected.append(path)

    def show(
        self, plain: Callable[[], Any], short: Callable[[], str], parts: Callable[[], list[RenderableType]]
    ) -> None:
        """Print a finding: `plain` as JSON, `short` if quiet, else the `parts` and the warning."""
        if self.as_json:
            say(json.dumps(plain(), indent=2, allow_nan=False))
        elif self.quiet:
            say(short())
        else:
            say(text_of(*parts(), "", SAFETY))

    def tell(self, text: str) -> None:
        """Say a line unless quiet: beside the results, or on standard error where these are JSON."""
        if not self.quiet:
            (mention if self.as_json else say)(text)

    def keep(self, path: Path | None, write: Write) -> None:
        """Have `write` write the file, if there is to be one, and tell of it."""
        if path is not None:
            write(path)
            self.kept.append(path)
            self.tell(f"Saved {path}")

    def finish(self, show: Callable[[], None], *files: tuple[Path | None, Write]) -> None:
        """Show and write all `files`: a full disk costs one of them only. Raises the first error then."""
        try_all([show, *(partial(self.keep, path, write) for path, write in files)])

    @contextmanager
    def stoppable(self) -> Iterator[None]:
        """Have an interrupt say what became of the files."""
        try:
            yield
        except KeyboardInterrupt:
            kept = ", ".join(map(str, self.kept))
            text = f"Stopped: only {kept} was saved." if kept else "Stopped: nothing was saved."
            old = [str(path) for path in self.expected if path not in self.kept and path.exists()]
            raise Interrupted(f"{text} As it was before: {', '.join(old)}." if old else text) from None


@contextmanager
def stopped(text: str) -> Iterator[None]:
    """Have an interrupt say what it left."""
    try:
        yield
    except KeyboardInterrupt:
        raise Interrupted(f"Stopped: {text}") from None


def try_all(ways: Sequence[Callable[[], object]]) -> None:
    """Go all `ways`; then raise the first error, with the others told before."""
    failures: list[SpotdwellError] = []
    for way in ways:
        try:
            way()
        except Interrupted:
            raise
        except SpotdwellError as error:
            failures.append(error)
    for failure in failures[1:]:
        complain(failure)
    if failures:
        raise failures[0]


def write_text(path: Path, text: str) -> None:
    """Write `text` to `path`, whole or not at all. Raises RunError where it cannot be written."""
    with whole_file(path) as temporary:
        temporary.write_text(text, encoding="utf-8")
