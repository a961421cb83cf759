"""The command as a process: Ctrl-C, closed pipes, exit codes, speed of the help."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from spotdwell.output.sealed import SIGNATURE, sealed
from spotdwell.output.whole_file import RESULT

COMMAND = (sys.executable, "-m", "spotdwell")


def finished(*arguments: str | Path, **options: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, *map(str, arguments)], capture_output=True, text=True, timeout=60, **options
    )


def _take_signals() -> None:
    for number in (signal.SIGINT, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)


def started(*arguments: str | Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*COMMAND, *map(str, arguments)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        # A test suite in the background hands down that Ctrl-C is ignored, and nohup that SIGHUP is.
        preexec_fn=_take_signals,
    )


def interrupted_once_running(
    *arguments: str | Path, by: signal.Signals = signal.SIGINT
) -> tuple[int, str, str]:
    """Exit code, output and messages of a run that gets a signal once it has told its progress."""
    process = started(*arguments)
    try:
        first = process.stderr.readline()
        while first and "simulated" not in first:
            first = process.stderr.readline()
        assert "simulated" in first
        process.send_signal(by)
        out, err = process.communicate(timeout=20)
    finally:
        process.kill()
    return process.returncode, out, err


@pytest.mark.compiled
def test_interrupt_exits_with_130_and_leaves_no_file(train, tmp_path):
    code, out, err = interrupted_once_running("run", train, "--out", tmp_path / "train.h5")
    assert code == 130
    assert out == ""
    assert err.endswith("Stopped: nothing was saved.\n")
    assert "Traceback" not in err
    assert [path.name for path in tmp_path.iterdir()] == ["train.toml"]


@pytest.mark.compiled
def test_interrupt_leaves_an_older_file_as_it_was(train, tmp_path):
    old = tmp_path / "train.h5"
    whole = sealed(SIGNATURE + b"an older result", RESULT, 1)
    old.write_bytes(whole)
    code, _, err = interrupted_once_running("run", train, "--out", old)
    assert code == 130
    assert f"As it was before: {old}." in err
    assert old.read_bytes() == whole
    assert sorted(path.name for path in tmp_path.iterdir()) == ["train.h5", "train.toml"]


@pytest.mark.compiled
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_system_that_ends_a_run_is_answered_and_no_file_is_left(train, tmp_path, number):
    code, out, err = interrupted_once_running("run", train, "--out", tmp_path / "train.h5", by=number)
    assert code == 128 + number
    assert out == "" and err.endswith("Stopped: nothing was saved.\n")
    assert [path.name for path in tmp_path.iterdir()] == ["train.toml"]


def test_an_interrupt_while_modules_load_ends_with_130():
    code = (
        "import sys, types\n"
        "class Loading:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name == 'spotdwell.cli': exec('raise KeyboardInterrupt')\n"
        "sys.meta_path.insert(0, Loading())\n"
        "from spotdwell.entry import main\n"
        "sys.exit(main())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (130, "Stopped.\n")


@pytest.mark.skipif(os.name == "nt", reason="needs a pseudo-terminal")
@pytest.mark.compiled
def test_progress_is_a_bar_on_a_terminal(train):
    import pty

    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [*COMMAND, "run", str(train)],
        stdout=subprocess.DEVNULL,
        stderr=theirs,
        env=os.environ | {"TERM": "xterm", "COLUMNS": "100"},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    os.close(theirs)
    try:
        seen = b""
        while b"simulated" not in seen:
            seen += os.read(ours, 4096)
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=20) == 130
    finally:
        process.kill()
        os.close(ours)
    assert "━".encode() in seen


def test_reader_that_leaves_early_is_no_error():
    process = started("schema")
    process.stdout.readline()
    process.stdout.close()
    with process.stderr:
        assert process.stderr.read() == ""
    assert process.wait(timeout=20) == 0


def test_reader_of_the_help_that_leaves_at_once_is_no_error():
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run([*COMMAND, "--help"], stdout=write, stderr=subprocess.PIPE, text=True, timeout=20)
    os.close(write)
    assert (done.returncode, done.stderr) == (0, "")


def test_result_is_kept_though_nobody_reads_the_summary(slab, tmp_path):
    read, write = os.pipe()
    os.close(read)
    kept = tmp_path / "slab.h5"
    done = subprocess.run(
        [*COMMAND, "run", str(slab), "--out", str(kept)], stdout=write, stderr=subprocess.PIPE, text=True
    )
    os.close(write)
    assert done.returncode == 0
    assert kept.exists()
    assert "Traceback" not in done.stderr and "Broken" not in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a full device")
def test_full_output_is_an_error_without_traceback_and_the_result_is_kept(slab, tmp_path):
    kept = tmp_path / "slab.h5"
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [*COMMAND, "run", str(slab), "--out", str(kept)], stdout=full, stderr=subprocess.PIPE, text=True
        )
    assert done.returncode == 1
    assert kept.exists()
    assert "Error: standard output: cannot be written" in done.stderr
    assert "Traceback" not in done.stderr


def test_exit_codes_reach_the_shell(slab, sheet):
    assert finished("run", slab, "--quiet").returncode == 0
    assert finished("run", sheet).returncode == 1
    wrong = finished("run", "spott")
    assert wrong.returncode == 2
    assert wrong.stdout == "" and "Traceback" not in wrong.stderr


def test_terminal_that_knows_ascii_only_gets_a_summary(slab):
    environment = os.environ | {"LC_ALL": "C", "PYTHONIOENCODING": "ascii"}
    assert finished("run", slab, env=environment).returncode == 0


def test_first_compilation_is_announced(slab, tmp_path):
    process = subprocess.Popen(
        [*COMMAND, "run", str(slab)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        env={k: v for k, v in os.environ.items() if k != "NUMBA_DISABLE_JIT"}
        | {"NUMBA_CACHE_DIR": str(tmp_path / "kernels")},
    )
    try:
        line = process.stderr.readline()
    finally:
        process.kill()
        process.wait(timeout=20)
        process.stderr.close()
    assert line.startswith("Compiling the kernels")


@pytest.mark.parametrize("arguments", [("--help",), ("--version",), ("run", "--nope"), ("shot", "--help")])
def test_help_and_refusals_load_no_solver(arguments):
    code = (
        "import sys\nfrom spotdwell.cli import main\n"
        f"main({list(arguments)!r})\n"
        # Not pydantic: newer versions of typer read options with it.
        "heavy = ('numpy', 'scipy', 'numba', 'pint', 'h5py', 'matplotlib')\n"
        "print('LOADED', [name for name in heavy if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=20)
    assert done.stdout.endswith("LOADED []\n")


@pytest.mark.compiled
def test_a_shot_with_its_interval_loads_no_special_functions_nor_pictures():
    code = (
        "import sys\nfrom spotdwell.cli import main\n"
        "arguments = 'shot --on soft_tissue --power 25W --spot 1.6mm --dwell 5ms --cell-depth 40um'\n"
        "assert main(arguments.split()) == 0\n"
        "slow = ('scipy.special', 'scipy.ndimage', 'scipy.stats', 'pint', 'matplotlib')\n"
        "print('LOADED', [name for name in slow if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120)
    assert "90 %" in done.stdout and done.stdout.endswith("LOADED []\n"), done.stderr


def test_help_is_there_in_half_a_second():
    # The best of three: other work on the machine is not the command's fault.
    spent = []
    for _ in range(3):
        began = time.perf_counter()
        assert finished("--help").returncode == 0
        spent.append(time.perf_counter() - began)
    assert min(spent) < 0.5
