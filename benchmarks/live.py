"""Live page: from letting a knob go to the rough and the full picture, and a thousand random moves.

    python benchmarks/live.py [--moves 1000] [--picture sim/live.png]

Needs Debian's chromium and chromium-driver, and selenium. A warm shot is `spotdwell.shot` in this process on
the same settings, taken in turn with the page's; all figures are medians.
"""

from __future__ import annotations

import argparse
import base64
import os
import random
import shutil
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

import spotdwell

POWERS = (18.0, 20.0, 22.0, 25.0, 28.0, 30.0, 32.0)
REPEATS = 20
MATERIAL, SPOT, DWELL = "oral_mucosa", "1.6 mm", "80 ms"

RELEASE = """
const done = arguments[arguments.length - 1];
const knob = knobs.power;
const began = performance.now();
const seen = {};
const show = window.showShot;
window.showShot = (shot, settings, isFull) => {
  show(shot, settings, isFull);
  document.body.getBoundingClientRect();
  seen[isFull ? "full" : "coarse"] = performance.now() - began;
  if (isFull) { window.showShot = show; done(seen); }
};
knob.slider.value = knob.steps.indexOf(arguments[0]);
knob.slider.dispatchEvent(new Event("change"));
"""
MOVE = """
const knob = knobs[arguments[0]];
knob.slider.value = Math.round(arguments[1] * (knob.steps.length - 1));
knob.slider.dispatchEvent(new Event("input"));
if (arguments[2]) knob.slider.dispatchEvent(new Event("change"));
"""


def opened() -> Any:
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for argument in ("headless=new", "no-sandbox", "disable-dev-shm-usage", "disable-gpu", "hide-scrollbars"):
        options.add_argument(f"--{argument}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    return webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))


def settled(driver: Any, patience: float = 120.0) -> None:
    end = time.monotonic() + patience
    while driver.execute_script("return document.body.dataset.state") != "full":
        if time.monotonic() > end:
            raise SystemExit("stuck: " + driver.execute_script("return byId('state').textContent"))
        time.sleep(0.02)


def releases(driver: Any) -> None:
    """Print the medians from letting the power's knob go, beside a warm shot."""
    warm, coarse, full = [], [], []
    spotdwell.shot(MATERIAL, "19 W", SPOT, DWELL)
    for turn in range(REPEATS):
        power = POWERS[turn % len(POWERS)]
        # Another spot each round, so that no shot is remembered.
        spot = f"{1.61 + 0.01 * (turn // len(POWERS)):g} mm"
        driver.execute_script(f"setKnob('spot', '{spot}')")
        began = time.perf_counter()
        spotdwell.shot(MATERIAL, f"{power:g} W", spot, DWELL)
        warm.append(time.perf_counter() - began)
        seen = driver.execute_async_script(RELEASE, power)
        coarse.append(seen["coarse"] / 1e3)
        full.append(seen["full"] / 1e3)
    shot, rough, final = (statistics.median(one) for one in (warm, coarse, full))
    print(f"medians of {REPEATS}, {MATERIAL}, {SPOT}, {DWELL}, {len(POWERS)} powers:")
    print(f"  a warm shot             {shot:.3f} s")
    print(f"  release to the rough    {rough:.3f} s (at most 0.3)")
    print(f"  release to the full     {final:.3f} s, {final / shot:.2f} warm shots (at most 4)")


def moves(driver: Any, page: Any, count: int) -> None:
    """Turn knobs at random; then the last setting must be shown, and nothing be left over."""
    chance, start = random.Random(1), {"power": "5 W", "spot": "1 mm", "dwell": "5 ms"}
    memory = []
    for number in range(count):
        if number % (count // 4 or 1) == 0:
            memory.append(memory_of(page, driver))
        name = chance.choice(list(start))
        # No deeper than a few mm, or each shot would take seconds.
        share = chance.uniform(0.2, 0.6)
        driver.execute_script(MOVE, name, share, chance.random() < 0.5)
        time.sleep(chance.choice((0.0, 0.01, 0.05, 0.2)))
    for name, text in start.items():
        driver.execute_script(f"setKnob('{name}', '{text}')")
    driver.execute_script("knobs.power.slider.dispatchEvent(new Event('change'))")
    settled(driver)
    memory.append(memory_of(page, driver))
    shown = driver.execute_script("return now.settings")
    left = driver.execute_script("return Object.keys(underWay).length"), len(page._desk.shots._waiting)
    errors = driver.get_log("browser")
    print(f"{count} random moves: shown {shown}, under way afterwards {left}, console {errors}")
    print("  MB of server, worker and page's heap:", "; ".join(memory))


def picture(driver: Any, path: Path) -> None:
    """Write what the page shows at first, in few colours, as the README has it."""
    from PIL import Image

    size = {"width": 1280, "height": 806, "deviceScaleFactor": 1.25, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    time.sleep(0.5)
    taken = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png"})
    path.write_bytes(base64.b64decode(taken["data"]))
    Image.open(path).convert("RGB").quantize(96, dither=Image.Dither.NONE).save(path, optimize=True)
    print(f"{path}: {path.stat().st_size / 1e3:.0f} kB")
    driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def memory_of(page: Any, driver: Any) -> str:
    sizes = [resident(os.getpid()), resident(page._desk.shots._process.pid)]
    driver.execute_cdp_cmd("HeapProfiler.collectGarbage", {})
    heap = driver.execute_script("return performance.memory.usedJSHeapSize") / 1e6
    return ", ".join(f"{one:.0f}" for one in (*sizes, heap))


def resident(process: int) -> float:
    """Resident memory of a process [MB], as Linux tells it."""
    with open(f"/proc/{process}/statm", encoding="utf-8") as file:
        return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--moves", type=int, default=1000)
    parser.add_argument("--picture", type=Path, help="Write a picture of the page, and time nothing.")
    given = parser.parse_args()
    driver = opened()
    try:
        with tempfile.TemporaryDirectory() as folder, spotdwell.live(MATERIAL, folder, show=False) as page:
            driver.get(page.address)
            settled(driver)
            if given.picture:
                picture(driver, given.picture)
                return
            releases(driver)
            moves(driver, page, given.moves)
    finally:
        driver.quit()


if __name__ == "__main__":
    main()
