"""Files: results and maps with damaged bytes, or sound ones with other contents, and disks that are full."""

from __future__ import annotations

import os
import random
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from cases import NASTY, Tally
from commands import Shelf

from spotdwell.base.errors import SpotdwellError
from spotdwell.console.screen import text_of
from spotdwell.maps import store as cube_store
from spotdwell.maps.store import load_cube, resumed_cube
from spotdwell.output.pictures.plots import cross_section, history
from spotdwell.output.result import load
from spotdwell.output.sealed import sealed
from spotdwell.output.store import FORMAT, FORMAT_VERSION
from spotdwell.output.tables import plain
from spotdwell.pages.page import class_page
from spotdwell.shots.run import summary


def fuzz_files(count: int, seed: int) -> Tally:
    """`count` files, half of them with damaged bytes: none of these may be read as sound."""
    chance, tally = random.Random(seed), Tally("damaged files")
    with tempfile.TemporaryDirectory() as place:
        shelf = Shelf(Path(place))
        kinds: list[tuple[bytes, Callable[[Path], Any], str, int]] = [
            (shelf.files["result"].read_bytes(), load, FORMAT, FORMAT_VERSION),
            (shelf.files["map"].read_bytes(), load_cube, cube_store.FORMAT, cube_store.FORMAT_VERSION),
        ]
        path = Path(place) / "given.h5"
        for number in range(count):
            whole, read, kind, version = kinds[number % 2]
            if number % 4 < 2:
                label, data = _damaged(whole, chance)
                path.write_bytes(data)
                tally.cases += 1
                _must_refuse(tally, label, read, path, data == whole)
            else:
                path.write_bytes(whole)
                label = _edited(path, chance)
                path.write_bytes(sealed(path.read_bytes(), kind, version))
                tally.judge(label, lambda path=path, read=read: _used(read(path), Path(place)))
    return tally


def _must_refuse(tally: Tally, label: str, read: Callable[[Path], Any], path: Path, same: bool) -> None:
    try:
        read(path)
    except SpotdwellError:
        tally.refused += 1
    except Exception as error:
        tally.miss(label, repr(error))
    else:
        if not same:
            tally.miss(label, "damage passed unseen")


def _damaged(whole: bytes, chance: random.Random) -> tuple[str, bytes]:
    at, length = chance.randrange(len(whole)), chance.choice((1, 8, 64, 512, 4096))
    kind = chance.choice(("bit", "bit", "zeros", "zeros", "noise", "cut", "doubled", "moved", "longer"))
    data = bytearray(whole)
    if kind == "bit":
        data[at] ^= 1 << chance.randrange(8)
    elif kind == "zeros":
        data[at : at + length] = bytes(len(data[at : at + length]))
    elif kind == "noise":
        data[at : at + length] = chance.randbytes(len(data[at : at + length]))
    elif kind == "cut":
        del data[at:]
    elif kind == "doubled":
        data[at:at] = data[at : at + length]
    elif kind == "moved":
        other = chance.randrange(len(whole))
        data[at : at + length] = data[other : other + len(data[at : at + length])]
    else:
        data += chance.randbytes(length)
    return f"{kind} at {at} for {length} of {len(whole)}", bytes(data)


def _edited(path: Path, chance: random.Random) -> str:
    """Change something inside the file by the library itself; returns what."""
    with h5py.File(path, "r+") as file:
        names: list[str] = []
        file.visit(names.append)
        name = chance.choice(names)
        item = file[name]
        how = chance.choice(
            ("gone", "text", "number", "shape", "nan", "huge", "kind", "link", "attribute", "nasty")
        )
        shape = getattr(item, "shape", ())
        if how == "attribute":
            file.attrs[chance.choice((*file.attrs, "title"))] = chance.choice((1.0, "torus", np.nan, "\x1b"))
            return how
        if how == "nan" and isinstance(item, h5py.Dataset) and item.dtype.kind == "f" and item.size:
            item[...] = chance.choice((np.nan, np.inf, -1.0, 1e300))
            return f"nan in {name}"
        del file[name]
        if how == "text":
            file[name] = chance.choice(("hot", "", "{", "title = "))
        elif how == "number":
            file[name] = chance.choice((0.0, -1.0, 1e300, 7))
        elif how == "shape":
            file[name] = np.zeros((*shape, 2) if chance.random() < 0.5 else (0,))
        elif how == "huge":
            file.create_dataset(name, (10**9, 1000), "f8", chunks=True)
        elif how == "kind":
            file.create_dataset(
                name, data=np.zeros(shape, dtype=chance.choice(("i8", "f4", "u1", "S3", "?")))
            )
        elif how == "link":
            file[name] = chance.choice((h5py.ExternalLink("/etc/passwd", "/"), h5py.SoftLink("/nowhere")))
        elif how == "nasty":
            file[name] = chance.choice(
                [text for text in NASTY if "\ud800" not in text and "\x00" not in text]
            )
    return f"{how}: {name}"


def _used(found: Any, folder: Path) -> None:
    """Use what was read as the verbs do."""
    if hasattr(found, "snapshots"):
        text_of(*summary(found, ()))
        plain(found)
        cross_section(found, folder / "used.svg")
        history(found, folder / "used.svg")
    else:
        class_page(found, folder / "used.html")


def fuzz_disks(count: int, seed: int) -> Tally:
    """`count` times a file that may grow to some size only, in place of a disk that is full."""
    import resource
    import signal

    chance, tally = random.Random(seed), Tally("full disks")
    with tempfile.TemporaryDirectory() as place:
        shelf = Shelf(Path(place))
        result, cube = load(shelf.files["result"]), load_cube(shelf.files["map"])
        before = resource.getrlimit(resource.RLIMIT_FSIZE)
        handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        old = b"as it was"
        ways: list[tuple[str, Callable[[Path], Any]]] = [
            (".h5", result.save),
            (".png", result.plot),
            (".pdf", result.plot),
            (".svg", lambda path: history(result, path)),
            (".h5", lambda path: cube_store.save_cube(cube, path)),
            (".html", lambda path: class_page(cube, path)),
        ]
        try:
            for way, write in ways:  # what a first use loads is written before
                write(Path(place) / f"first{way}")
            for _ in range(count):
                suffix, write = chance.choice(ways)
                path = Path(place) / f"full{suffix}"
                path.write_bytes(old)
                most = chance.choice((0, 1, 100, 1000, 5000, 20_000))
                resource.setrlimit(resource.RLIMIT_FSIZE, (most, before[1]))
                tally.judge(f"{suffix} of {most} bytes", lambda path=path, write=write: write(path))
                resource.setrlimit(resource.RLIMIT_FSIZE, before)
                if path.read_bytes() != old and path.stat().st_size <= most:
                    tally.miss(f"{suffix} of {most} bytes", "half a file")
                if left := [one for one in os.listdir(place) if one.endswith(".part")]:
                    tally.miss(f"{suffix} of {most} bytes", f"left {left}")
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
            signal.signal(signal.SIGXFSZ, handler)
    return tally


def fuzz_resumes(count: int, seed: int) -> Tally:
    """`count` maps with damaged points: what is gone on with has lost these, and no other."""
    chance, tally = random.Random(seed), Tally("damaged points")
    with tempfile.TemporaryDirectory() as place:
        shelf = Shelf(Path(place))
        path = shelf.files["map"]
        whole = path.read_bytes()
        with h5py.File(path, "r") as file:
            places = {
                name: file[name].id.get_offset()
                for name in ("deepest", "verdict", "crater_outline", "seconds")
            }
            sizes = {name: file[name].id.get_storage_size() for name in places}
            count_of_points = file["verdict"].size
            identity = __import__("json").loads(file["provenance/identity"].asstr()[()])
        for _ in range(count):
            name = chance.choice(list(places))
            at = chance.randrange(sizes[name])
            data = bytearray(whole)
            data[places[name] + at] ^= 1 << chance.randrange(8)
            path.write_bytes(data)
            number = at * count_of_points // sizes[name]

            def case(number: int = number) -> None:
                lost = np.flatnonzero(resumed_cube(path, identity).missing.ravel()).tolist()
                assert lost == [number], f"{lost} and not {number}"

            tally.judge(f"{name} at {at}", case)
    return tally
