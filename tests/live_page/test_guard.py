"""Hostile requests are refused, and every answer carries the policy."""

from __future__ import annotations

import asyncio
import json
import socket
import time

import pytest

from spotdwell.live_page.guard import MOST_BYTES, Guard

from .conftest import SHOT, Served

ASKED = {"settings": SHOT, "options": {"moving": "yes"}}


def test_the_page_is_served_with_a_policy_that_allows_no_inline_script(served):
    status, headers, body = served.ask("")
    assert status == 200
    assert b"<!DOCTYPE html>" in body
    policy = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == "'none'"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["x-content-type-options"] == "nosniff"
    assert "server" not in headers


@pytest.mark.parametrize("path", ["", "page.js", "start", "do/shot", "taken/x"])
@pytest.mark.parametrize("token", ["", "wrong", "x" * 5000])
def test_without_its_token_nothing_is_served(served, path, token):
    assert served.ask(path, token=token)[0] == 403


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example:80"])
def test_another_host_is_refused(served, host):
    assert served.ask("", headers={"Host": host})[0] == 403


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://{host}", "http://127.0.0.1:1"])
def test_another_origin_is_refused(served, origin):
    origin = origin.format(host=served.host)
    assert served.ask("do/shot", ASKED, headers={"Origin": origin})[0] == 403
    assert served.ask("start", headers={"Origin": origin})[0] == 403


def test_a_refusal_is_heard_though_the_body_comes_after_it(served):
    body = json.dumps(ASKED).encode()
    head = (
        f"POST /{served.token}/do/shot HTTP/1.1\r\nHost: {served.host}\r\nOrigin: http://evil.example\r\n"
        f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", served.live.port), timeout=10) as connection:
        connection.sendall(head.encode())
        time.sleep(0.1)
        connection.sendall(body)
        time.sleep(0.1)
        heard = b"".join(iter(lambda: connection.recv(4096), b""))
    assert heard.startswith(b"HTTP/1.1 403") and heard.endswith(b"nothing here.\n")


def test_a_request_that_any_page_could_send_is_refused(served):
    assert served.ask("do/shot", ASKED, headers={"Origin": ""})[0] == 403
    assert served.ask("do/shot", ASKED, headers={"Content-Type": "text/plain"})[0] == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE"])
def test_other_methods_are_refused(served, method):
    assert served.ask("start", method=method)[0] == 405


def test_a_huge_body_is_refused_before_it_is_read(served):
    status, *_ = served.ask("do/shot", body=b"x" * (MOST_BYTES + 1))
    assert status == 413
    said = _raw(served, f"Content-Length: {10**12}\r\n\r\n".encode())
    assert said.startswith(b"HTTP/1.1 413")


def test_a_huge_body_in_chunks_is_refused(served):
    chunks = b"".join(b"1000\r\n" + b"x" * 4096 + b"\r\n" for _ in range(4))
    assert _raw(served, b"Transfer-Encoding: chunked\r\n\r\n" + chunks).startswith(b"HTTP/1.1 413")


def _raw(served: Served, rest: bytes) -> bytes:
    head = (
        f"POST /{served.token}/do/shot HTTP/1.1\r\nHost: {served.host}\r\nOrigin: http://{served.host}\r\n"
        "Content-Type: application/json\r\n"
    )
    with socket.create_connection(("127.0.0.1", served.live.port), timeout=20) as opened:
        opened.sendall(head.encode() + rest)
        return opened.recv(4096)


@pytest.mark.parametrize(
    "path",
    [
        "../../etc/passwd",
        "%2e%2e/%2e%2e/etc/passwd",
        "taken/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "taken/../guard.py",
        "taken//etc/passwd",
        "..%5cguard.py",
        "guard.py",
        "page.js%00.html",
        "taken/secret.toml",
    ],
)
def test_no_path_leads_to_files(served, path):
    (served.folder / "secret.toml").write_text("secret = 1\n", encoding="utf-8")
    status, _, body = served.ask(path)
    assert status == 404
    assert b"secret" not in body


@pytest.mark.parametrize(
    "name", ["../secret.toml", "/etc/passwd", "secret.txt", "materials/skin", "a\0b.toml"]
)
def test_no_setting_leads_out_of_the_folder(served, name):
    (served.folder.parent / "secret.toml").write_text("secret = 1\n", encoding="utf-8")
    for changed in ({"material": name}, {"laser": name}):
        (kind, found), *_ = served.do("shot", SHOT | changed)
        assert kind == "wrong"
        assert found[0]["where"] in changed


def test_a_link_out_of_the_folder_is_not_followed(served):
    outside = served.folder.parent / "outside.toml"
    outside.write_text("secret = 1\n", encoding="utf-8")
    (served.folder / "inside.toml").symlink_to(outside)
    (kind, found), *_ = served.do("shot", SHOT | {"material": "inside.toml"})
    assert (kind, found[0]["where"]) == ("wrong", "material")


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"{",
        b'{"settings": []}',
        b'{"settings": {"power": 5}}',
        b"null",
        b"\xff",
        b"[" * 8000,
        b'{"settings": {' + b",".join(b'"%d": "x"' % one for one in range(40)) + b"}}",
    ],
)
def test_what_is_no_request_is_refused(served, body):
    status, _, said = served.ask("do/shot", body=body)
    assert status == 400
    assert b"Traceback" not in said


def test_settings_that_the_page_has_not_are_refused(served):
    for changed in ({"title": "x"}, {"cell_depth": "1 nm"}, {"power": "5" * 200 + " W"}, {"count": "1e9"}):
        (kind, _), *_ = served.do("shot", SHOT | changed)
        assert kind == "wrong"


def test_too_many_requests_are_put_off():
    async def answer(scope, receive, send):
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b""})

    async def statuses() -> list[int]:
        found = []
        guard = Guard(answer, "t", 80)
        scope = {
            "type": "http",
            "method": "GET",
            "path": "/t/",
            "client": ("127.0.0.1", 1),
            "headers": [(b"host", b"127.0.0.1:80")],
        }

        async def receive():
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message):
            if message["type"] == "http.response.start":
                found.append(message["status"])

        for _ in range(1000):
            await guard(scope, receive, send)
        return found

    found = asyncio.run(statuses())
    assert found[:200] == [200] * 200
    assert found[-1] == 429


def test_other_machines_cannot_reach_it(served):
    """It listens on the loopback address alone."""
    assert served.live._socket.getsockname()[0] == "127.0.0.1"


def test_an_unfinished_body_is_given_up(served):
    began = time.monotonic()
    assert _raw(served, b"Content-Length: 100\r\n\r\n{").startswith(b"HTTP/1.1 408")
    assert time.monotonic() - began < 15.0
