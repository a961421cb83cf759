"""Guard: which requests reach the page. All others are refused before anything reads them."""

from __future__ import annotations

import asyncio
import hmac
import time
from collections.abc import Awaitable, Callable, MutableMapping
from contextlib import suppress
from typing import Any

MOST_BYTES = 8192
"""Of a request's body: settings are some 500."""
MOST_A_SECOND = 60.0
"""Requests, on average; a moving knob sends 20."""
MOST_AT_ONCE = 300.0
"""Requests in a burst."""
MOST_OPEN = 24
"""Requests being answered at a time."""
PATIENCE = 5.0
"""In which a body must come [s]."""
_REST = 1.0
"""In which the rest of a refused one may come [s]."""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
    (b"cache-control", b"no-store"),
)
"""Of every answer."""

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]


class Refused(Exception):
    """A request that is not let in, with the status and the words of the answer."""

    def __init__(self, status: int, words: str) -> None:
        super().__init__(words)
        self.status, self.words = status, words


class Guard:
    """Lets in what comes from this machine's own page, with its token, small and not too often."""

    def __init__(self, app: App, token: str, port: int) -> None:
        self._app, self._token = app, token
        self._hosts = {f"{name}:{port}" for name in ("127.0.0.1", "localhost")}
        self._left, self._seen, self._open = MOST_AT_ONCE, time.monotonic(), 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on without its token, or refuse it."""
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        if scope["type"] != "http":
            return
        guarded = _with_headers(send)
        try:
            inside = self._checked(scope)
            receive = await _whole(scope, receive)
        except Refused as error:
            await _taken(receive)
            await _answer(guarded, error)
            return
        self._open += 1
        try:
            await self._app(inside, receive, guarded)
        finally:
            self._open -= 1

    def _checked(self, scope: Scope) -> Scope:
        """What the page sees of the request. Raises Refused."""
        headers = _headers_of(scope)
        if headers.get("host") not in self._hosts or scope["client"][0] not in ("127.0.0.1", "::1"):
            raise Refused(403, "This page answers to its own address alone.")
        _, token, rest = scope["path"].split("/", 2) if scope["path"].count("/") > 1 else ("", "", "")
        if not hmac.compare_digest(token.encode(), self._token.encode()):
            raise Refused(403, "Open the page by the whole address that spotdwell printed.")
        origin = headers.get("origin")
        if origin is not None and origin not in {f"http://{headers['host']}"}:
            raise Refused(403, "Pages from elsewhere may ask nothing here.")
        if scope["method"] not in ("GET", "POST"):
            raise Refused(405, "GET and POST only.")
        if scope["method"] == "POST" and (origin is None or not _is_json(headers)):
            raise Refused(403, "Only the page itself may ask for computing.")
        self._count()
        return {**scope, "path": f"/{rest}", "raw_path": f"/{rest}".encode(), "root_path": ""}

    def _count(self) -> None:
        now = time.monotonic()
        self._left = min(MOST_AT_ONCE, self._left + (now - self._seen) * MOST_A_SECOND)
        self._seen = now
        if self._left < 1.0 or self._open >= MOST_OPEN:
            raise Refused(429, "Too many requests at a time. Wait a second.")
        self._left -= 1.0


def _is_json(headers: dict[str, str]) -> bool:
    return headers.get("content-type", "").split(";")[0].strip() == "application/json"


def _headers_of(scope: Scope) -> dict[str, str]:
    """Headers by name. Raises Refused for one of ours that comes twice."""
    found: dict[str, str] = {}
    for raw, value in scope["headers"]:
        name = raw.decode("latin-1").lower()
        if name in found and name in ("host", "origin", "content-length", "content-type"):
            raise Refused(400, f"{name} comes twice.")
        found[name] = value.decode("latin-1")
    return found


async def _whole(scope: Scope, receive: Receive) -> Receive:
    """Receive the whole body. Raises Refused for one that is too large or too slow."""
    length = _headers_of(scope).get("content-length", "0")
    if not length.isdecimal() or int(length) > MOST_BYTES:
        raise Refused(413, f"At most {MOST_BYTES} bytes.")
    body = b""
    try:
        async with asyncio.timeout(PATIENCE):
            while True:
                message = await receive()
                body += message.get("body", b"")
                if len(body) > MOST_BYTES:
                    raise Refused(413, f"At most {MOST_BYTES} bytes.")
                if not message.get("more_body"):
                    break
    except TimeoutError:
        raise Refused(408, "The request did not come to its end.") from None
    first = [{"type": "http.request", "body": body, "more_body": False}]

    async def again() -> MutableMapping[str, Any]:
        return first.pop() if first else await receive()

    return again


async def _taken(receive: Receive) -> None:
    """Take the body of a refused request, no more than a body may have.

    What is left unread as the connection closes would take the answer with it.
    """
    size = 0
    with suppress(TimeoutError):
        async with asyncio.timeout(_REST):
            while size <= MOST_BYTES:
                message = await receive()
                size += len(message.get("body", b""))
                if not message.get("more_body"):
                    break


def _with_headers(send: Send) -> Send:
    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": [*message.get("headers", ()), *HEADERS]}
        await send(message)

    return sending


async def _answer(send: Send, error: Refused) -> None:
    body = f"{error.words}\n".encode()
    headers = [
        (b"content-type", b"text/plain; charset=utf-8"),
        (b"content-length", b"%d" % len(body)),
        (b"connection", b"close"),
    ]
    await send({"type": "http.response.start", "status": error.status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
