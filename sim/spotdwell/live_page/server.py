"""Server: the page, its data, and streams of what its shots, searches and maps find."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from spotdwell.base.errors import SpotdwellError
from spotdwell.document.model import CAUTIONS
from spotdwell.live_page.knobs import KNOBS, kwargs_of, lasers_in, materials_in
from spotdwell.live_page.take import command_of, python_of
from spotdwell.live_page.tasks import Task
from spotdwell.live_page.worker import Worker
from spotdwell.output.pictures.style import BEAM, EDGE, FAINT, INK, TONES

_OWN = "spotdwell.live_page", "files"
_DRAWING = "spotdwell.pages", "files"
"""Of the class page, which draws sections in a browser."""
_SHARED = ("drawing.js", "profile.js")
_KINDS = {".js": "text/javascript", ".css": "text/css", ".html": "text/html"}
_TASKS = ("shot", "find", "map", "take")
_TEXTS = 16
"""Settings and options of a request at most."""


class Desk:
    """The processes that compute for the page, the folder of its files, and what was written there."""

    def __init__(self, folder: Path, start: dict[str, str]) -> None:
        self.folder, self.start = folder, start
        self.shots, self.searches, self.papers = Worker(), Worker(), Worker(newest_wins=False, most=6)
        self.taken: set[str] = set()

    def worker(self, kind: str) -> Worker:
        """Who does tasks of this kind: a search does not hold up a knob."""
        return {"shot": self.shots, "take": self.papers}.get(kind, self.searches)

    def close(self) -> None:
        """End the processes."""
        for worker in (self.shots, self.searches, self.papers):
            worker.close()


def app_of(desk: Desk) -> Starlette:
    """The application, which a `guard.Guard` must stand before."""

    async def index(_: Request) -> Response:
        return _file(*_OWN, "index.html")

    async def file(request: Request) -> Response:
        name = request.path_params["name"]
        for place in (_OWN, _DRAWING) if name in _SHARED else (_OWN,):
            if Path(name).suffix in _KINDS and (files(place[0]) / place[1] / name).is_file():
                return _file(*place, name)
        return PlainTextResponse("There is no such file.\n", 404)

    async def start(_: Request) -> Response:
        return JSONResponse(start_of(desk))

    async def words(request: Request) -> Response:
        """The command and the lines of Python that repeat a shot."""
        try:
            settings = kwargs_of(_texts(await request.json(), "settings"), desk.folder)
        except (ValueError, RecursionError, SpotdwellError) as error:
            return PlainTextResponse(f"{error}\n", 400)
        return JSONResponse({"command": command_of(settings), "python": python_of(settings)})

    async def task(request: Request) -> Response:
        kind = request.path_params["kind"]
        try:
            data = await request.json()
            asked = Task(kind, _texts(data, "settings"), desk.folder, _texts(data, "options"))
        except (ValueError, RecursionError) as error:
            return PlainTextResponse(f"{error}\n", 400)
        if kind not in _TASKS:
            return PlainTextResponse("There is no such task.\n", 404)
        return StreamingResponse(_lines(desk, asked), media_type="application/x-ndjson")

    async def taken(request: Request) -> Response:
        name = request.path_params["name"]
        if name not in desk.taken:
            return PlainTextResponse("Nothing of this name was taken away here.\n", 404)
        return FileResponse(desk.folder / name, filename=name)

    return Starlette(
        routes=[
            Route("/", index),
            Route("/start", start),
            Route("/words", words, methods=["POST"]),
            Route("/do/{kind}", task, methods=["POST"]),
            Route("/taken/{name}", taken),
            Route("/{name}", file),
        ]
    )


async def _lines(desk: Desk, task: Task) -> AsyncIterator[bytes]:
    """Findings as lines of JSON, each sent as it comes."""
    async for kind, found in desk.worker(task.kind).findings(task):
        if kind == "taken":
            desk.taken.add(found["name"])
        yield (json.dumps({"kind": kind, "found": found}, allow_nan=False) + "\n").encode()


def start_of(desk: Desk) -> dict[str, Any]:
    """All that the page needs before its first shot."""
    from spotdwell.live_page.shown import verdicts_shown

    return {
        "knobs": [asdict(one) for one in KNOBS],
        "materials": materials_in(desk.folder),
        "lasers": lasers_in(desk.folder),
        "start": desk.start,
        "tones": {name: asdict(tone) for name, tone in TONES.items()},
        "inks": {"ink": INK, "faint": FAINT, "edge": EDGE, "beam": BEAM},
        "verdicts": verdicts_shown(),
        "cautions": CAUTIONS,
        "folder": str(desk.folder.resolve()),
    }


def _texts(data: Any, name: str) -> dict[str, str]:
    """Texts by name in `data`. Raises ValueError for anything else."""
    found = data.get(name, {}) if isinstance(data, dict) else None
    if not isinstance(found, dict) or len(found) > _TEXTS:
        raise ValueError(f"{name}: expected at most {_TEXTS} texts by name")
    if not all(isinstance(one, str) for one in found.values()):
        raise ValueError(f"{name}: expected texts")
    return {str(key): str(one) for key, one in found.items()}


def _file(package: str, folder: str, name: str) -> Response:
    kind = _KINDS[Path(name).suffix]
    return Response((files(package) / folder / name).read_bytes(), media_type=kind)
