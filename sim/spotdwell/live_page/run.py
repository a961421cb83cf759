"""The public function `live`: serves the page on this machine, to itself alone."""

from __future__ import annotations

import os
import secrets
import socket
import threading
import time
import webbrowser
from html import escape
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from spotdwell.base.errors import InputError, RunError
from spotdwell.live_page.guard import MOST_OPEN, Guard
from spotdwell.live_page.knobs import KNOBS, scenario_of
from spotdwell.live_page.server import Desk, app_of

HOST = "127.0.0.1"
_PATIENCE = 10.0
"""Until the server must have started or ended [s]."""


class Live:
    """The page while it is served; a context that ends it."""

    def __init__(self, desk: Desk, port: int) -> None:
        import uvicorn

        self._desk = desk
        self._socket = _bound(port)
        self.port = int(self._socket.getsockname()[1])
        token = secrets.token_urlsafe(24)
        self.address = f"http://{HOST}:{self.port}/{token}/"
        """Of the page, with the token that opens it."""
        config = uvicorn.Config(
            Guard(app_of(desk), token, self.port),
            log_config=None,
            access_log=False,
            lifespan="off",
            ws="none",
            http="h11",
            loop="asyncio",
            proxy_headers=False,
            server_header=False,
            date_header=False,
            limit_concurrency=4 * MOST_OPEN,
            timeout_keep_alive=15,
            timeout_graceful_shutdown=1,
        )
        self._server: Any = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._serve, name="spotdwell live", daemon=True)

    def _serve(self) -> None:
        self._server.run(sockets=[self._socket])

    def start(self) -> Self:
        """Start to serve. Raises RunError if that fails."""
        self._desk.shots.start()
        self._thread.start()
        end = time.monotonic() + _PATIENCE
        while not self._server.started:
            if not self._thread.is_alive() or time.monotonic() > end:
                self.stop()
                raise RunError(f"the page could not be served at {HOST}:{self.port}. Try another port")
            time.sleep(0.01)
        return self

    @property
    def serving(self) -> bool:
        """Whether it still answers."""
        return self._thread.is_alive() and not self._server.should_exit

    def wait(self) -> None:
        """Wait until it ends; an interrupt (KeyboardInterrupt) goes on to the caller."""
        while self._thread.is_alive():
            self._thread.join(0.5)

    def stop(self) -> None:
        """End the page and its processes."""
        self._server.should_exit = True
        self._desk.close()
        if self._thread.is_alive():
            self._thread.join(_PATIENCE)
        self._socket.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def __repr__(self) -> str:
        return f"Live page at {self.address}" if self.serving else "Live page, ended"

    def _repr_html_(self) -> str:
        """A link, which a notebook shows: other pages may not frame this one."""
        if not self.serving:
            return "<p>The live page has ended.</p>"
        address = escape(self.address, quote=True)
        return (
            f'<p>Live page: <a href="{address}" target="_blank" rel="noopener">{address}</a>. '
            "It opens on this machine only, until <code>stop()</code> or the end of Python.</p>"
        )


def live(
    material: str = "oral_mucosa",
    folder: str | os.PathLike[str] = ".",
    port: int = 0,
    show: bool = True,
    **settings: str,
) -> Live:
    """Serve the page with knobs on this machine and, with `show`, open it in the browser.

    `material` and `settings`, such as power="10 W", are where its knobs stand at first. What is taken away
    goes into `folder`, and laser and material files there are offered. A `port` of 0 takes a free one.
    Returns at once: `stop()` ends it, as does the end of Python. Raises InputError for settings that cannot
    be shot or a folder that is none, and RunError for a port that is taken.
    """
    place = Path(folder)
    if not place.is_dir():
        raise InputError("folder", "a folder that exists", f'"{place}"', "Make it, or name another.")
    if not 0 <= port < 65536:
        raise InputError("port", "0 for a free port, or 1024 to 65535", str(port), "Leave it out.")
    start = {one.name: one.start for one in KNOBS if one.part == "shot"}
    start |= {"material": material} | {
        name: str(value) for name, value in settings.items() if value is not None
    }
    if "laser" in start:
        start.pop("spot")
    scenario_of(start, place)
    page = Live(Desk(place, start), port).start()
    if show:
        webbrowser.open_new_tab(page.address)
    return page


def _bound(port: int) -> socket.socket:
    """A socket on this machine alone. Raises RunError where it is taken."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name != "nt":
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((HOST, port))
    except OSError as error:
        made.close()
        raise RunError(f"port {port} cannot be used: {error.strerror}. Leave it out for a free one") from None
    return made
