"""The live page in a real browser: each part driven by what a person does, no error in the console.

Skipped only where Chromium, its driver or selenium is not installed.
"""

from __future__ import annotations

import base64
import io
import os
import random
import re
from importlib.resources import files
from itertools import pairwise

import pytest
from PIL import Image

import spotdwell

from .conftest import ENTER, LASER, RIGHT, SHOT, SIZES, TAB, Page, Served

pytestmark = pytest.mark.compiled

MOVES = int(os.environ.get("SPOTDWELL_MOVES", "40"))
"""Random moves; `benchmarks/live.py` makes a thousand."""


def test_a_slider_shows_the_rough_shot_then_the_full_one(page):
    page.run(
        "window.seen = []; new MutationObserver(all => all.forEach(one => seen.push(one.oldValue)))"
        ".observe(document.body, {attributeFilter: ['data-state'], attributeOldValue: true})"
    )
    before = page.figure("crater_depth")
    page.one("#power-slider").send_keys(RIGHT, RIGHT)
    power = f"{page.run('return knobs.power.number.value')} W"
    assert power == "6 W"
    page.settled(power=power)
    # States that follow one another too fast to be looked at are recorded as the old ones of changes.
    seen = [*page.run("return seen"), page.run("return document.body.dataset.state")]
    assert seen.index("coarse") < len(seen) - 1 - seen[::-1].index("full")
    assert page.figure("crater_depth") != before
    result = spotdwell.shot(**SHOT | {"power": power})
    assert page.text("#word") == result.verdict.text
    assert f"{1e6 * result.measures['crater_depth']:.3g}" in page.figure("crater_depth")
    assert "Full grid" in page.text("#state")
    low, _, high = page.text("tr[data-figure=crater_depth] td.interval").partition("–")
    assert float(low) < 1e6 * result.measures["crater_depth"] < float(high.split()[0])
    assert "90 %" in page.text("#interval-head")
    assert page.one("#power-slider").get_attribute("aria-valuetext") == "6 W"


def test_a_number_moves_the_slider_and_a_unit_keeps_the_quantity(page):
    page.type("#spot", "0,8")
    page.settled(spot="0.8 mm")
    assert page.run("return knobs.spot.steps[knobs.spot.slider.value]") == 0.8
    depth = page.figure("crater_depth")
    page.choose("#spot-unit", "um")
    page.settled(spot="800 um")
    assert page.figure("crater_depth") == depth


def test_a_wrong_number_is_marked_and_told(page):
    page.type("#power", "many")
    page.until(lambda: page.state() == "wrong")
    assert page.one("#power").get_attribute("aria-invalid") == "true"
    assert "Expected a quantity in W" in page.text("#power-wrong")
    page.type("#power", "5")
    page.settled(power="5 W")
    assert page.one("#power").get_attribute("aria-invalid") is None


def test_pulses_are_repeated_and_chopped(page):
    page.click("#with-repeat")
    page.settled(count="3", pause="500 ms")
    page.click("#with-carrier")
    page.settled(count="3", pulse_duration="400 us")
    page.click("#with-repeat")
    page.click("#with-carrier")
    page.until(lambda: page.state() == "full" and not page.run("return 'count' in now.settings"))
    page.settled(**SHOT)


def test_a_laser_file_with_dials_stands_in_for_the_spot(page, served):
    (served.folder / "co2.toml").write_text(LASER, encoding="utf-8")
    try:
        page.driver.refresh()
        page.settled()
        page.choose("#laser", "co2.toml")
        page.settled(laser="co2.toml", dial="1")
        assert not page.one("#spot").is_displayed()
        narrow = page.figure("crater_width")
        page.choose("#dial", "2")
        page.settled(laser="co2.toml", dial="2")
        assert page.figure("crater_width") != narrow
        page.click("#find-go")
        page.until(lambda: "a laser file, whose dial sets it" in page.text("#answer"))
        page.choose("#laser", "")
        page.settled(**SHOT)
        assert page.one("#spot").is_displayed()
    finally:
        (served.folder / "co2.toml").unlink()


def test_back_and_forward_go_through_what_was_tried(page):
    assert not page.one("#back").is_enabled()
    for power in ("9", "11"):
        page.type("#power", power)
        page.settled(power=f"{power} W")
    page.click("#back")
    page.settled(power="9 W")
    assert page.one("#power").get_attribute("value") == "9"
    page.driver.back()
    page.settled(power="5 W")
    page.click("#forward")
    page.settled(power="9 W")
    page.click("#forward")
    page.settled(power="11 W")
    assert not page.one("#forward").is_enabled()
    page.driver.refresh()
    page.settled(power="11 W")


def test_four_shots_are_kept_and_compared(page):
    for power in ("5", "6", "8", "10"):
        page.type("#power", power)
        page.settled(power=f"{power} W")
        page.click("#keep")
    assert not page.one("#keep").is_enabled()
    assert [one.get_attribute("id") for one in page.all(".kept")] == [f"kept-{name}" for name in "ABCD"]
    assert page.text("#kept-D .differs") == "This is the shot shown above."
    said = page.text("#kept-A .differs")
    assert "power 5 W instead of 10 W" in said
    depths = [page.run("return figureText(kept[arguments[0]].shot, 'crater_depth')", one) for one in (0, 3)]
    assert f"depth {depths[0]} instead of {depths[1]}" in said
    assert depths[1] == page.figure("crater_depth")
    scales = {one.get_attribute("data-scale") for one in page.all(".kept svg.section")}
    assert len(scales) == 1
    page.click("#kept-B button")
    page.settled(power="6 W")
    assert page.text("#kept-B .differs") == "This is the shot shown above."
    page.click("#with-repeat")
    page.settled(count="3")
    said = page.text("#kept-B .differs")
    assert "exposures 1 instead of 3" in said
    assert "pause" not in said
    page.click("#with-repeat")
    page.settled(power="6 W")
    page.click("#kept-B button:last-child")
    assert len(page.all(".kept")) == 3
    assert page.one("#keep").is_enabled()


def test_the_spot_for_a_depth_is_found_and_set(page):
    page.type("#depth", "50")
    page.click("#find-go")
    line = page.until(lambda: page.text("#answer") if "set the spot to" in page.text("#answer") else "")
    assert line.startswith("For 50 µm set the spot to ")
    assert len(page.all("#trials li")) >= 2
    page.click("#answer button")
    page.until(lambda: page.state() == "full" and page.run("return now.settings.spot") != "0.6 mm")
    depth = float(re.match(r"[\d.]+", page.figure("crater_depth"))[0])
    assert depth == pytest.approx(50.0, rel=0.06)


def test_the_dwell_for_a_depth_is_found_and_set_and_the_page_says_burnt_or_clean(page):
    page.type("#spot", "0.5")
    page.settled(spot="0.5 mm")
    page.choose("#unknown", "dwell")
    page.type("#depth", "80")
    page.click("#find-go")
    line = page.until(lambda: page.text("#answer") if "set the dwell to" in page.text("#answer") else "")
    assert line.startswith("For 80 µm set the dwell to ")
    page.click("#answer button")
    page.until(lambda: page.state() == "full" and page.run("return now.settings.dwell") != "2 ms")
    assert page.run("return now.settings.spot") == "0.5 mm"
    assert float(re.match(r"[\d.]+", page.figure("crater_depth"))[0]) == pytest.approx(80.0, rel=0.06)
    assert page.text("#word") in line and page.text("#reason").endswith(".")


def test_a_search_without_an_answer_says_what_is_nearest(page):
    page.type("#power", "0.5")
    page.settled(power="0.5 W")
    page.type("#depth", "2000")
    page.click("#find-go")
    page.until(lambda: "No spot was found that removes 2 mm" in page.text("#answer"))
    assert not page.all("#answer button")
    assert not page.one("#find-stop").is_displayed()


def test_a_search_can_be_stopped(page):
    page.type("#power", "0.5")
    page.settled(power="0.5 W")
    page.type("#depth", "2000")
    page.choose("#unknown", "dwell")
    page.click("#find-go")
    page.until(lambda: page.all("#trials li"))
    page.click("#find-stop")
    assert page.text("#answer") == "Stopped."
    page.choose("#unknown", "spot")
    page.click("#find-go")
    page.until(lambda: "No spot was found" in page.text("#answer"))


def test_a_map_takes_the_place_of_a_search_and_the_search_says_so(page):
    page.type("#power", "0.5")
    page.type("#dwell", "0.2")
    page.settled(power="0.5 W", dwell="0.2 ms")
    page.type("#depth", "2000")
    page.choose("#unknown", "dwell")
    page.click("#find-go")
    page.until(lambda: page.all("#trials li"))
    page.click("#map-go")
    assert page.text("#answer").startswith("Stopped")
    page.until(lambda: page.run("return around.count > 0"))
    page.choose("#unknown", "spot")
    page.click("#find-go")
    page.until(lambda: "No spot was found" in page.text("#answer"))
    assert page.text("#map-state") == "Stopped." or "All 49" in page.text("#map-state")


def test_a_map_fills_in_and_a_click_goes_there(page):
    page.type("#dwell", "0.5")
    page.settled(dwell="0.5 ms")
    page.click("#map-go")
    page.until(lambda: "All 49" in page.text("#map-state"))
    assert len(page.all("#cells td button")) == 49
    assert page.one("#cells .here").get_attribute("data-i") == "3"
    target = page.one("#cells button[data-i='1'][data-j='4']")
    word = target.get_attribute("aria-label").split(": ")[1].split(",")[0]
    page.run("arguments[0].scrollIntoView({block: 'center'})", target)
    target.click()
    page.settled(power="6.5 W", spot="355 um")
    assert page.text("#word").split(",")[0] == word
    assert page.one("#cells .here").get_attribute("data-i") == "1"
    # Keys walk and go, too.
    page.run("around.cells['1 4'].focus()")
    page.driver.switch_to.active_element.send_keys(RIGHT)
    assert page.run("return document.activeElement.dataset.i") == "2"
    page.driver.switch_to.active_element.send_keys(ENTER)
    page.settled(power="6.5 W", spot="462 um")


def test_files_are_taken_away(page, served):
    page.click("[data-take=scenario]")
    name = page.until(lambda: page.all("#taken a"))[0].text
    assert (served.folder / name).is_file()
    assert page.one("#taken a").get_attribute("href").startswith(served.live.address)
    page.click("#repeat summary")
    assert '--power "5 W"' in page.text("#command")
    assert page.text("#python").startswith("import spotdwell")


def test_the_keyboard_alone_reaches_everything(page):
    """Tab goes through every control that is shown, in the order of the page, and never gets stuck."""
    page.run("document.body.tabIndex = -1; document.body.focus()")
    wanted = page.run(
        "return [...document.querySelectorAll('button, select, input, summary')]"
        ".filter((one) => one.checkVisibility() && !one.disabled && one.tabIndex >= 0)"
        ".map((one) => one.id || one.textContent)"
    )
    reached = []
    for _ in range(len(wanted) + 12):
        page.driver.switch_to.active_element.send_keys(TAB)
        reached.append(page.run("const one = document.activeElement; return one.id || one.textContent"))
    assert [one for one in wanted if one not in reached] == []
    assert [one for one in dict.fromkeys(reached) if one in wanted] == wanted


@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_wider_than_the_window(page, size):
    page.resize(*SIZES[size])
    page.click("#keep")
    assert page.run("return document.documentElement.scrollWidth <= innerWidth")
    for svg in page.all("#figure-now svg, #history"):
        assert svg.size["width"] > 0.8 * min(SIZES[size][0], 400) - 40
    for one in page.all("#settings button, #settings select, #settings input[type=text]"):
        if one.is_displayed():
            assert one.size["height"] >= 24


def test_twice_the_size_needs_no_sideways_scrolling(page):
    """200 % zoom of a laptop's window is a window of half its width."""
    page.driver.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": 683, "height": 384, "deviceScaleFactor": 2, "mobile": False},
    )
    assert page.run("return document.documentElement.scrollWidth <= innerWidth")
    page.run("document.documentElement.style.fontSize = '200%'")
    assert page.run("return document.documentElement.scrollWidth <= innerWidth")


def test_every_picture_has_its_words(page):
    for selector in ("#figure-now svg", "#history"):
        said = page.one(selector).get_attribute("aria-label")
        assert len(said) > 40
    assert page.text("#word") in page.one("#figure-now svg").get_attribute("aria-label")
    assert page.run("return byId('spoken').textContent").startswith(page.text("#word"))


def test_zones_differ_in_grey(page):
    """The tones of the drawing, as lightness, are apart by 8 % of the scale at least."""
    colours = page.run("return Object.values(map.tones).map((tone) => tone.colour)")
    greys = sorted(
        sum(share * int(colour[at : at + 2], 16) for share, at in ((0.299, 1), (0.587, 3), (0.114, 5)))
        for colour in set(colours)
    )
    assert min(b - a for a, b in pairwise(greys)) > 0.05 * 255


def test_it_is_dark_where_the_system_is(page):
    page.emulate(prefers_color_scheme="dark")
    picture = Image.open(io.BytesIO(base64.b64decode(page.driver.get_screenshot_as_base64()))).convert("L")
    assert picture.getpixel((2, 400)) < 60
    assert_accessible(page)


def test_it_prints_on_paper(page):
    printed = page.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    data = base64.b64decode(printed["data"])
    assert data.startswith(b"%PDF")
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", data)) <= 2


def assert_accessible(page: Page) -> None:
    """axe-core has no serious or critical finding."""
    pytest.importorskip("axe_core_python", reason="axe-core-python is not installed")
    page.run((files("axe_core_python") / "axe.min.js").read_text(encoding="utf-8"))
    found = page.driver.execute_async_script("axe.run().then(arguments[arguments.length - 1])")
    assert len(found["passes"]) > 20
    bad = [one for one in found["violations"] if one["impact"] in ("serious", "critical")]
    told = [(one["id"], [node["html"] for node in one["nodes"]][:5]) for one in bad]
    assert told == []


@pytest.mark.parametrize("size", ["phone", "laptop"])
def test_axe_finds_nothing_serious(page, size):
    page.resize(*SIZES[size])
    page.click("#keep")
    page.type("#dwell", "0.3")
    page.settled(dwell="0.3 ms")
    page.click("#with-repeat")
    page.click("#with-carrier")
    page.click("#map-go")
    page.until(lambda: page.run("return around?.count > 5"))
    page.click("#repeat summary")
    page.click("#map-stop")
    assert_accessible(page)


def test_an_inaccessible_page_is_found(page):
    page.run("byId('power').closest('.knob').querySelector('label').remove()")
    with pytest.raises(AssertionError, match="label"):
        assert_accessible(page)


def test_a_second_window_takes_over_and_the_first_says_so(page, served):
    page.click("#with-repeat")
    page.type("#count", "50")
    first = page.driver.current_window_handle
    page.driver.switch_to.new_window("window")
    try:
        page.driver.get(served.live.address)
        page.settled()
    finally:
        page.driver.close()
        page.driver.switch_to.window(first)
    page.until(lambda: page.state() in ("failed", "full"))
    assert page.state() == "full" or "Another window" in page.text("#state")
    page.click("#with-repeat")
    page.settled()


def test_random_moves_leave_nothing_stuck(page, served):
    """However the knobs are turned, the last setting is the one that is shown, and nothing piles up."""
    chance = random.Random(4)
    for _ in range(MOVES):
        name = chance.choice(["power", "spot", "dwell"])
        share = chance.random()
        page.run(
            "const knob = knobs[arguments[0]];"
            "knob.slider.value = Math.round(arguments[1] * (knob.steps.length - 1));"
            "knob.slider.dispatchEvent(new Event('input'));"
            "if (arguments[2]) knob.slider.dispatchEvent(new Event('change'));",
            name,
            share,
            chance.random() < 0.5,
        )
    page.run(
        "setKnob('power', '5 W'); setKnob('spot', '0.6 mm'); setKnob('dwell', '2 ms');"
        "knobs.dwell.slider.dispatchEvent(new Event('change'))"
    )
    page.settled(**SHOT)
    assert page.run("return Object.keys(underWay).length") == 0
    page.until(lambda: not served.live._desk.shots._waiting, 10.0)


def test_when_it_ends_the_page_says_so(driver, tmp_path):
    page = Page(driver)
    with spotdwell.live(folder=tmp_path, show=False, **SHOT) as live:
        driver.get(live.address)
        page.settled()
    page.run("goTo({...settingsNow(), power: '6 W'})")
    page.until(lambda: page.state() == "failed")
    assert "does not answer" in page.text("#state")
    page.errors()
    driver.get("about:blank")


def test_the_address_alone_opens_nothing(driver, served: Served):
    driver.get(f"http://{served.host}/")
    assert "whole address" in driver.find_element("css selector", "body").text
    Page(driver).errors()
