"""Nothing in the package that Linux, macOS or Windows lacks: the sources are read for it."""

from __future__ import annotations

import ast
import os
from pathlib import Path

import pytest

import spotdwell
from spotdwell.base import system

PACKAGE = Path(spotdwell.__file__).parent
ONLY_IN = PACKAGE / "base" / "system.py"
MODULES = {"fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "curses", "syslog", "msvcrt", "winreg"}
CALLS = {
    "os": [
        "pread",
        "pwrite",
        "fork",
        "forkpty",
        "getuid",
        "geteuid",
        "setuid",
        "getgid",
        "getppid",
        "kill",
        "killpg",
        "setsid",
        "nice",
        "chown",
        "mkfifo",
        "mknod",
        "posix_fallocate",
        "sysconf",
        "statvfs",
        "uname",
        "O_BINARY",
        "startfile",
        "getloadavg",
    ],
    "signal": [
        "pthread_sigmask",
        "pthread_kill",
        "setitimer",
        "alarm",
        "pause",
        "sigwait",
        "SIGKILL",
        "SIGHUP",
        "SIGPIPE",
        "SIGALRM",
        "SIGUSR1",
        "SIGXFSZ",
        "CTRL_C_EVENT",
        "SIGBREAK",
    ],
    "time": ["tzset", "clock_gettime"],
}
"""What one of the three systems lacks, by module."""
PLACES = ("/tmp", "/dev/", "/etc/", "/proc/", "/sys/", "C:\\")
TEXT = {"read_text": 0, "write_text": 1, "open": 1}
"""Functions that read or write text, whose encoding differs by system unless it is stated."""


def sources() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def faults(tree: ast.AST) -> list[str]:
    """Calls and imports of one source that one of the systems would refuse."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [one.name for one in node.names if one.name in MODULES]
        elif isinstance(node, ast.ImportFrom) and node.module in {*MODULES, *CALLS}:
            found += [one.name for one in node.names if one.name in CALLS.get(node.module, [one.name])]
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.attr in CALLS.get(node.value.id, []):
                found.append(f"{node.value.id}.{node.attr}")
        elif isinstance(node, ast.keyword) and node.arg == "preexec_fn":
            found.append("preexec_fn")
        elif isinstance(node, ast.Constant) and str(node.value).startswith(PLACES):
            found.append(str(node.value))
    return found


def unstated(tree: ast.AST) -> list[int]:
    """Lines that read or write text in whatever encoding the system has."""
    lines = []
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and isinstance(node.func, (ast.Attribute, ast.Name))):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else node.func.id
        plain_os = isinstance(node.func, ast.Attribute) and ast.unparse(node.func.value) in ("os", "h5py")
        binary = any(isinstance(one, ast.Constant) and "b" in str(one.value) for one in node.args[:2])
        stated = any(one.arg == "encoding" for one in node.keywords)
        ours = isinstance(node.func, ast.Name) and name != "open"  # states the encoding itself
        if name in TEXT and not (ours or plain_os or binary or stated):
            lines.append(node.lineno)
    return lines


@pytest.mark.parametrize("path", sources(), ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_a_source_asks_for_nothing_that_a_system_lacks(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert unstated(tree) == []
    if path != ONLY_IN:
        assert faults(tree) == []


@pytest.mark.parametrize(
    "source",
    [
        "import fcntl",
        "from os import fork",
        "import os\nos.pwrite(1, b'', 0)",
        "import signal\nsignal.signal(signal.SIGHUP, print)",
        "from pathlib import Path\nPath('/dev/null')",
        "import subprocess\nsubprocess.run([], preexec_fn=print)",
    ],
)
def test_the_search_finds_what_a_system_lacks(source):
    assert faults(ast.parse(source))


@pytest.mark.parametrize("source", ["path.read_text()", "path.write_text(text)", "open(name)"])
def test_the_search_finds_text_without_an_encoding(source):
    assert unstated(ast.parse(source)) == [1]
    assert unstated(ast.parse("path.open('wb')\nos.open(path, 0)\npath.read_text(encoding='utf-8')")) == []


def test_bytes_are_written_in_place_where_the_system_has_no_call_for_it(tmp_path, monkeypatch):
    path = tmp_path / "file"
    path.write_bytes(b"0123456789")
    for lacking in (False, True):
        if lacking:
            monkeypatch.delattr(os, "pwrite", raising=False)
        file = system.open_to_change(path)
        try:
            assert system.write_at(file, b"ab", 4) == 2
        finally:
            os.close(file)
        assert path.read_bytes() == b"0123ab6789"
        path.write_bytes(b"0123456789")


def test_memory_is_a_number_of_bytes():
    assert system.memory() > 1e8
