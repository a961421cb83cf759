"""A page that is served for the tests, requests to it, and a browser that shows it."""

from __future__ import annotations

import http.client
import json
import time
from collections.abc import Callable
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


SIZES = {"phone": (360, 740), "laptop": (1366, 768), "projector": (1920, 1080)}
TAB, RIGHT, ENTER = "\ue004", "\ue014", "\ue007"
PATIENCE = 60.0


class Page:
    """The open page."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def one(self, selector: str) -> Any:
        return self.driver.find_element("css selector", selector)

    def all(self, selector: str) -> list[Any]:
        return list(self.driver.find_elements("css selector", selector))

    def run(self, script: str, *arguments: Any) -> Any:
        return self.driver.execute_script(script, *arguments)

    def click(self, selector: str) -> None:
        self.run("arguments[0].scrollIntoView({block: 'center'})", self.one(selector))
        self.one(selector).click()

    def type(self, selector: str, text: str) -> None:
        field = self.one(selector)
        field.clear()
        field.send_keys(text, TAB)

    def choose(self, selector: str, value: str) -> None:
        self.one(f"{selector} option[value='{value}']").click()

    def text(self, selector: str) -> str:
        return self.one(selector).text

    def state(self) -> str:
        return str(self.run("return document.body.dataset.state"))

    def until(self, holds: Callable[[], Any], patience: float = PATIENCE) -> Any:
        end = time.monotonic() + patience
        while not (found := holds()):
            assert time.monotonic() < end, f"never came; state {self.state()}: {self.text('#state')}"
            time.sleep(0.02)
        return found

    def settled(self, **settings: str) -> None:
        """Wait for the full shot of the settings and its intervals."""
        self.until(
            lambda: (
                self.state() == "full"
                and not self.run("return 'shot' in underWay")
                and all(self.run("return now.settings[arguments[0]]", k) == v for k, v in settings.items())
            )
        )

    def figure(self, name: str) -> str:
        return self.text(f"tr[data-figure={name}] td")

    def resize(self, width: int, height: int) -> None:
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)

    def emulate(self, media: str = "", **features: str) -> None:
        told = [{"name": name.replace("_", "-"), "value": value} for name, value in features.items()]
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": media, "features": told})

    def errors(self) -> list[str]:
        return [str(line["message"]) for line in self.driver.get_log("browser")]


@pytest.fixture
def page(driver, served) -> Page:
    page = Page(driver)
    page.emulate()
    page.resize(*SIZES["laptop"])
    driver.get("about:blank")
    driver.get(served.live.address)
    page.settled()
    yield page
    assert page.errors() == []
