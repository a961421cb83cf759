"""A page that is served for the tests, and requests to it."""

from __future__ import annotations

import http.client
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import spotdwell
from spotdwell.live_page.run import Live

SHOT = {"material": "skin", "power": "5 W", "spot": "0.6 mm", "dwell": "2 ms"}

LASER = """
wavelength = { value = "10.6 um", source = "its plate" }
diameter = [
  { dial = "1", value = "0.5 mm", interval = ["0.4 mm", "0.6 mm"], source = "craters" },
  { dial = "2", value = "1 mm", interval = ["0.9 mm", "1.1 mm"], source = "craters" },
]
"""


@dataclass
class Served:
    """A served page, its folder, and what a page on it would ask."""

    live: Live
    folder: Path

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.live.port}"

    @property
    def token(self) -> str:
        return self.live.address.split("/")[3]

    def ask(
        self,
        path: str,
        data: Any = None,
        headers: dict[str, str] | None = None,
        method: str = "",
        token: str | None = None,
        body: bytes | None = None,
    ) -> tuple[int, dict[str, str], bytes]:
        """Status, headers and body of the answer; what the page itself sends unless said."""
        connection = http.client.HTTPConnection("127.0.0.1", self.live.port, timeout=60)
        body = body if body is not None else None if data is None else json.dumps(data).encode()
        sent = {"Host": self.host}
        if body is not None:
            sent |= {"Origin": f"http://{self.host}", "Content-Type": "application/json"}
        sent = {name: one for name, one in (sent | (headers or {})).items() if one}
        place = f"/{self.token if token is None else token}/{path}"
        try:
            connection.request(method or ("GET" if body is None else "POST"), place, body, sent)
            answer = connection.getresponse()
            return answer.status, {name.lower(): one for name, one in answer.getheaders()}, answer.read()
        finally:
            connection.close()

    def do(self, kind: str, settings: dict[str, str], **options: str) -> list[tuple[str, Any]]:
        """All findings of a task."""
        status, _, body = self.ask(f"do/{kind}", {"settings": settings, "options": options})
        assert status == 200, body
        findings = [json.loads(line) for line in body.splitlines()]
        return [(one["kind"], one["found"]) for one in findings if one["kind"] != "starting"]


@pytest.fixture(scope="module")
def served(tmp_path_factory) -> Served:
    folder = tmp_path_factory.mktemp("live")
    with spotdwell.live("skin", folder, show=False, power="5 W", spot="0.6 mm", dwell="2 ms") as live:
        yield Served(live, folder)
