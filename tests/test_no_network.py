"""No command reaches the network at run time, and nothing that it writes asks a browser to."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

# An audit hook cannot be taken back, so the commands run in a process of their own.
WATCHED = """
import sys
seen = []
def hook(event, arguments):
    if event in ("socket.connect", "socket.bind", "socket.getaddrinfo", "socket.gethostbyname",
                 "socket.sendto", "urllib.Request", "http.client.connect",
                 "ftplib.connect"):
        if event in ("socket.connect", "socket.bind") and isinstance(arguments[1], (str, bytes)):
            return  # a socket of this machine, between a command and its workers
        seen.append((event, repr(arguments[1:])))
sys.addaudithook(hook)
from spotdwell.cli import main
"""
TINY = '["--end-time", "2 ms", "--cell-depth", "20 um", "--cell-width", "60 um", "--quiet"]'
COMMANDS = f"""
tiny = {TINY}
shot = ["--on", "skin", "--spot", "0.5 mm"]
done = [
    main(["shot", *shot, "--power", "5 W", "--dwell", "1 ms", *tiny, "--out", "r.h5", "--picture", "r.png"]),
    main(["map", *shot, "--over", "power: 5 W, 10 W", "--over", "dwell: 1 ms, 2 ms", *tiny, "--workers", "2",
          "--out", "m.h5", "--picture", "m.svg", "--table", "m.csv"]),
    main(["plot", "r.h5", "--top-view", "t.pdf"]),
    main(["report", "r.h5", "--html", "r.html", "--pdf", "r.pdf", "--quiet"]),
    main(["page", "m.h5", "--out", "p.html", "--quiet"]),
    main(["spot", "--focal-length", "125 mm", "--input-diameter", "10 mm"]),
    main(["list", "materials", "skin"]),
    main(["schema"]),
]
print("DONE", done, "SEEN", seen)
"""


@pytest.mark.compiled
def test_commands_open_no_connection_and_pages_name_no_address(tmp_path):
    ran = subprocess.run(
        [sys.executable, "-c", WATCHED + COMMANDS], cwd=tmp_path, capture_output=True, text=True, timeout=300
    )
    assert ran.stdout.rstrip().endswith("DONE [0, 0, 0, 0, 0, 0, 0, 0] SEEN []"), ran.stderr[-2000:]
    for name in ("r.html", "p.html", "m.svg"):
        text = (tmp_path / name).read_text(encoding="utf-8")
        # What a browser would fetch by itself; names of XML languages are no addresses to go to.
        assert not re.search(
            r"""(?:src|href)\s*=\s*["'](?:https?:)?//|@import|url\(\s*["']?(?:https?:)?//""", text
        )


LIVE = """
import spotdwell
seen.clear()
page = spotdwell.live("skin", show=False)
print("ADDRESS", page.address.split("/")[2])
page.stop()
print("SEEN", seen)
"""


@pytest.mark.compiled
def test_the_live_page_listens_on_this_machine_alone_and_connects_to_nothing(tmp_path):
    ran = subprocess.run(
        [sys.executable, "-c", WATCHED + LIVE], cwd=tmp_path, capture_output=True, text=True, timeout=300
    )
    port = re.search(r"ADDRESS 127\.0\.0\.1:(\d+)", ran.stdout)
    assert port, ran.stderr[-2000:]
    assert re.findall(r"\('[a-z.]+', \"[^\"]*\"\)", ran.stdout) == [
        """('socket.bind', "(('127.0.0.1', 0),)")"""
    ], ran.stdout


def test_a_connection_would_be_seen():
    code = (
        WATCHED
        + "import socket\ntry:\n socket.getaddrinfo('192.0.2.1', 9)\nexcept OSError:\n pass\nprint(len(seen))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert ran.stdout.strip() == "1"
