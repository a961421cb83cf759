"""The class page in a real browser: a map from the command line, its sliders, its comparison and its sizes.

Skipped only where Chromium, its driver or selenium is not installed.
"""

from __future__ import annotations

import base64
import io
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from spotdwell.base.names import MEASURES
from spotdwell.base.units import convert
from spotdwell.cli import main
from spotdwell.maps.bands import BANDED, blank_bands
from spotdwell.maps.cube import Cube
from spotdwell.maps.store import load_cube, save_cube
from spotdwell.measure.interval import Interval
from spotdwell.pages.page import class_page

pytestmark = pytest.mark.compiled

SIZES = {"phone": (360, 740), "laptop": (1366, 768), "projector": (1920, 1080)}
MAP = (
    *("map", "--spot", "0.6 mm", "--over", "power: 5 W to 40 W, 6", "--over", "dwell: 1 ms to 16 ms, 5, log"),
    *("--over", "material: skin, oral_mucosa", "--cell-depth", "20 um", "--cell-width", "80 um"),
    *("--workers", "1", "--quiet", "--out"),
)


class Key:
    """Codes by which WebDriver names keys (W3C WebDriver, keyboard actions)."""

    SPACE = " "
    TAB, END, HOME = "\ue004", "\ue010", "\ue011"
    LEFT, UP, RIGHT, DOWN = "\ue012", "\ue013", "\ue014", "\ue015"


SHOWN = r"(−|\+)?([0-9.]+) (.+)"


@dataclass
class Page:
    """The open page, and the cube that it was made of."""

    driver: Any
    cube: Cube

    def one(self, selector: str) -> Any:
        return self.driver.find_element("css selector", selector)

    def all(self, selector: str) -> list[Any]:
        return list(self.driver.find_elements("css selector", selector))

    def press(self, selector: str, *keys: str) -> None:
        self.one(selector).send_keys(*keys)

    def run(self, script: str) -> Any:
        return self.driver.execute_script(script)

    def resize(self, width: int, height: int) -> None:
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)

    def places(self, name: str = "A") -> tuple[int, ...]:
        """Where the controls of a setting stand."""
        return tuple(int(self.run(f"return +byIdValue('{name}-{axis.name}')")) for axis in self.cube.axes)

    def figure(self, measure: str, name: str = "A") -> float | None:
        """A figure as the page shows it, in its display unit; None where it says that it does not apply."""
        text = self.one(f"tr[data-figure={measure}] td[data-set={name}]").text
        if text == "–":
            return None
        _, number, unit = re.fullmatch(SHOWN, text).groups()
        return float(number) * (1e3 if unit == "mm" else 1.0)

    def errors(self) -> list[str]:
        return [str(line["message"]) for line in self.driver.get_log("browser")]


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> tuple[Path, Cube]:
    """The page of a small map, made as a teacher would make it."""
    folder = tmp_path_factory.mktemp("page")
    kept, out = folder / "map.h5", folder / "a page.html"
    assert main([*MAP, str(kept)]) == 0
    assert main(["page", str(kept), "--out", str(out), "--quiet"]) == 0
    return out, load_cube(kept)


def opened(driver: Any, path: Path, cube: Cube, size: str = "laptop") -> Page:
    page = Page(driver, cube)
    page.resize(*SIZES[size])
    driver.get(path.as_uri())
    page.run("window.byIdValue = (id) => document.getElementById(id).value")
    return page


@pytest.fixture
def page(driver, made) -> Page:
    page = opened(driver, *made)
    yield page
    assert page.errors() == []


def assert_shows(page: Page, places: tuple[int, ...], name: str = "A") -> None:
    """The page shows the cube's figures at these places."""
    assert page.places(name) == places
    for measure in (
        "crater_depth",
        "crater_width",
        "char_thickness_floor",
        "coagulation_thickness_floor",
        "energy_per_removed_volume",
        "peak_temperature",
    ):
        value = float(page.cube.measures[measure][places])
        shown = page.figure(measure, name)
        if np.isnan(value):
            assert shown is None, measure
            continue
        quantity = MEASURES[measure]
        # Three digits: half a unit of the third is 0.5 % at most.
        assert shown == pytest.approx(convert(value, quantity.unit, quantity.display_unit), rel=5.1e-3)
    assert str(page.cube.word[places]) in page.one(f"#verdict-{name} .word").text


def test_a_slider_moved_by_keys_shows_the_cubes_figures_at_each_stop(page):
    _, dwell, material = page.places()
    page.press("#A-power", Key.HOME)
    for place in range(len(page.cube.axes[0].values)):
        assert_shows(page, (place, dwell, material))
        page.press("#A-power", Key.RIGHT)
    assert_shows(page, (len(page.cube.axes[0].values) - 1, dwell, material))
    page.press("#A-dwell", Key.HOME, Key.UP)
    assert page.places()[1] == 1
    assert page.one("#A-dwell").get_attribute("aria-valuetext") == "2 ms"
    assert page.one("#A-dwell-value").text == "2 ms"


def test_what_a_slider_changes_is_spoken_and_the_page_says_what_is_not_computed(page):
    page.press("#A-power", Key.HOME)
    before = page.one("#spoken").get_attribute("textContent")
    page.press("#A-power", Key.END)
    spoken = page.one("#spoken").get_attribute("textContent")
    assert page.one("#spoken").get_attribute("aria-live") == "polite" and spoken != before
    assert spoken.startswith(page.cube.word[page.places()])
    for measure in ("crater_depth", "peak_temperature"):
        assert page.one(f"tr[data-figure={measure}] td[data-set=A]").text in spoken
    assert "stop at computed settings only" in page.one("#controls").text
    assert "straight from one stored radius" in page.one("#drawings").text


def test_char_at_the_rim_is_in_the_table_as_it_is_in_the_drawing(page):
    page.press("#A-power", Key.END)
    page.press("#A-dwell", Key.END)
    rim = 1e6 * page.cube.measures["char_thickness_rim"][page.places()]
    # Of this shot the rim is charred, or nothing would be compared here.
    assert rim > 1.0
    # Three digits: half a unit of the third is 0.5 % at most.
    assert page.figure("char_thickness_rim") == pytest.approx(rim, rel=5.1e-3)
    assert "the verdict does not judge it" in page.one("#where").text


def test_a_list_of_materials_changes_the_shot(page):
    page.press("#A-material", Key.HOME)
    assert_shows(page, (*page.places()[:2], 0))
    first = page.figure("incident_energy"), page.figure("crater_depth")
    page.press("#A-material", Key.DOWN)
    assert_shows(page, (*page.places()[:2], 1))
    # The same beam, another crater.
    assert page.figure("incident_energy") == first[0] and page.figure("crater_depth") != first[1]


def test_the_drawn_crater_is_as_deep_and_wide_as_its_scale_says(page):
    page.press("#A-power", Key.END)
    places = page.places()
    scale = float(page.one("#figure-A svg").get_attribute("data-scale"))
    outline = page.one('#figure-A [data-zone="air"]').get_attribute("d")
    points = np.array(re.findall(r"(-?[0-9.]+),(-?[0-9.]+)", outline), dtype=float)
    top = points[:, 1].min()
    depths = 1e6 * page.cube.outlines["crater"][places]
    # Coordinates have two decimals, outlines are rounded to 1 um at most.
    assert (points[:, 1].max() - top) / scale == pytest.approx(depths.max(), abs=1.0 + 0.02 / scale)
    below = points[points[:, 1] > top + 0.02]
    step = 1e6 * page.cube.radius[places][1]
    reach = step * np.flatnonzero(depths > 0.6)[-1]
    assert (below[:, 0].max() - below[:, 0].min()) / 2.0 / scale == pytest.approx(reach, abs=step)


def beam_drawn(page: Page, name: str = "A") -> tuple[float, float, float]:
    """Diameter [um] between the tips of its measure, and highest and mean irradiance [W/mm2] by its axis."""
    scale = float(page.one(f"#figure-{name} svg").get_attribute("data-scale"))
    left, _, right = map(
        float, re.match(NUMBERS, page.one(f"#figure-{name} .diameter").get_attribute("d")).groups()
    )
    curve = page.one(f"#figure-{name} .profile").get_attribute("d")
    heights = [float(y) for _, y in re.findall(r"(-?[0-9.]+),(-?[0-9.]+)", curve)]
    foot = float(re.search(r"V([0-9.]+)H", curve)[1])
    zero, mark = [
        (float(one.get_attribute("y")) - 4.0, float(one.text))
        for one in page.all(f"#figure-{name} .irradiance")
    ]
    assert zero == (pytest.approx(foot, abs=0.01), 0.0)
    per_pixel = mark[1] / (zero[0] - mark[0])
    mean = float(re.search(r",([0-9.]+)h", page.one(f"#figure-{name} .mean").get_attribute("d"))[1])
    return (right - left) / scale, (foot - min(heights)) * per_pixel, (foot - mean) * per_pixel


NUMBERS = r"M([0-9.]+),([0-9.]+)H([0-9.]+)"


@pytest.mark.parametrize("both", [False, True], ids=["one", "two"])
def test_the_beam_is_drawn_over_the_section_as_wide_and_as_strong_as_it_is(page, both):
    if both:
        page.one("#two").click()
        page.press("#B-power", Key.HOME)
    page.press("#A-power", Key.END)
    for name in ("A", "B") if both else ("A",):
        power = page.cube.axes[0].values[page.places(name)[0]]
        # 0.6 mm by 1/e2: the mean is the power over that circle, the peak of a gaussian twice as much.
        mean = power / (np.pi * 0.3**2)
        across, highest, average = beam_drawn(page, name)
        # Places on the curve have two decimals of a pixel, of some 45 up and 300 across at full power.
        assert across == pytest.approx(600.0, rel=1e-3)
        assert highest == pytest.approx(2.0 * mean, abs=1e-3 * 2.0 * 40.0 / (np.pi * 0.3**2))
        assert average == pytest.approx(mean, abs=1e-3 * 40.0 / (np.pi * 0.3**2))
        assert figure_words(page, name) == [f"{2.0 * mean:.3g}", f"{mean:.3g}"]


def figure_words(page: Page, name: str) -> list[str]:
    """Highest and mean irradiance, as the label of the drawing says them to those who hear the page."""
    label = page.one(f"#figure-{name} svg").get_attribute("aria-label")
    assert "gaussian, 1/e² 600 µm, which holds 86.5 % of the power" in label
    return [f"{float(one):.3g}" for one in re.findall(r"([0-9.]+) W/mm²", label)]


def test_side_by_side_has_one_scale_and_the_differences_in_words(page):
    assert not page.one("#figure-B").is_displayed()
    page.one("#two").click()
    assert page.one("#two").get_attribute("aria-pressed") == "true"
    page.press("#A-power", Key.HOME)
    page.press("#B-power", Key.END)
    page.press("#B-dwell", Key.END)
    for name in ("A", "B"):
        assert page.one(f"#figure-{name} svg").is_displayed() and page.all(f"#figure-{name} .bar")
        assert_shows(page, page.places(name), name)
    scales = {page.one(f"#figure-{name} svg").get_attribute("data-scale") for name in ("A", "B")}
    assert len(scales) == 1
    deeper = page.figure("crater_depth", "B") - page.figure("crater_depth", "A")
    words = page.one("#differences").text
    assert "B has power 40 W in place of 5 W" in words
    number, unit = re.search(r"B cuts ([0-9.]+) (\S+) deeper", words).groups()
    assert float(number) * (1e3 if unit == "mm" else 1.0) == pytest.approx(deeper, rel=1e-3)
    page.one("#two").click()
    assert not page.one("#figure-B").is_displayed() and not page.one("#differences").is_displayed()


def test_a_cell_of_the_map_sets_the_sliders_by_click_and_by_keys(page):
    page.one('#cells [data-column="1"][data-row="3"]').click()
    assert_shows(page, (1, 3, page.places()[2]))
    marked = page.all("#cells .marked")
    assert [one.text for one in marked] == ["A"]
    assert "setting A" in marked[0].get_attribute("aria-label")
    marked[0].send_keys(Key.RIGHT)
    page.driver.switch_to.active_element.send_keys(Key.DOWN)
    assert_shows(page, (2, 2, page.places()[2]))
    letters = {one.text for one in page.all("#cells button")} - {"A"}
    assert letters <= {"U", "G", "C", "H", "D", "P"} and len(letters) > 1
    # Of all cells but one is in the way of the tab key.
    assert page.run("return document.querySelectorAll('#cells button[tabindex=\"0\"]').length") == 1


def test_questions_are_folded_over_their_answers(page):
    assert not page.one("#questions").is_displayed()
    page.one("#ask").click()
    folds = page.all("#asked details")
    assert len(folds) == len(page.all("#asked li")) > 4
    assert not any(one.is_displayed() for one in page.all("#asked .answer"))
    answer = page.one("#asked .answer")
    # By keys, as a summary is a control of its own.
    page.press("#asked summary", Key.SPACE)
    assert answer.is_displayed() and sum(one.is_displayed() for one in page.all("#asked .answer")) == 1
    page.one("#asked .answer button").click()
    assert page.one("#figure-B").is_displayed()
    for axis, place in zip(page.cube.axes, page.places("A"), strict=True):
        value = page.one(f"#A-{axis.name}-value").text if axis.unit else ""
        assert value in answer.text, place
    page.press("#asked summary", Key.SPACE)
    assert not answer.is_displayed()
    assert page.one("#unfold").text == "Open all answers"
    page.one("#unfold").click()
    assert all(one.is_displayed() for one in page.all("#asked .answer"))
    assert page.one("#unfold").text == "Fold all answers"
    page.one("#unfold").click()
    assert not any(one.is_displayed() for one in page.all("#asked .answer"))
    page.one("#ask").click()
    assert not page.one("#questions").is_displayed()


def test_everything_is_reached_by_the_tab_key_and_shows_its_focus(page):
    page.one("#two").click()
    page.one("#ask").click()
    first = page.one("#asked summary").text
    page.run("document.activeElement.blur()")
    focus = "const e = document.activeElement; return e === document.body ? null : "
    seen = []
    for _ in range(60):
        page.driver.switch_to.active_element.send_keys(Key.TAB)
        name = page.run(f"{focus} e.id || e.textContent.trim()")
        seen.append(name)
        assert name is None or page.run(f"{focus} getComputedStyle(e).outlineStyle") == "solid", name
    for wanted in ("two", "ask", "scale", "print", "A-power", "B-dwell", "B-material", "unfold", first):
        assert wanted in seen
    # Of the map's cells the tab key stops at the marked one alone.
    assert {name for name in seen if name and len(name) == 1} == {"A"}


PARTS = (
    "#title",
    "#two",
    "#ask",
    "#A-power",
    "#A-dwell",
    "#A-material",
    "#figure-A svg",
    "#key",
    "#verdicts",
    "#table",
    "#cells",
    "#letters",
    "#cautions",
    "#about",
)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("both", [False, True], ids=["one", "two"])
def test_all_parts_are_there_and_none_runs_over_the_side(driver, made, tmp_path, size, both):
    page = opened(driver, *made, size)
    if both:
        page.one("#two").click()
        page.one("#ask").click()
    parts = (*PARTS, "#figure-B svg", "#differences", "#questions", "#B-power") if both else PARTS
    width = page.run("return document.documentElement.clientWidth")
    assert page.run("return document.documentElement.scrollWidth") <= width
    for part in parts:
        box = page.one(part).rect
        assert box["width"] > 10 and box["height"] > 10, part
        assert box["x"] >= 0 and box["x"] + box["width"] <= width + 1, (part, box)
    for button in page.all("#cells button"):
        assert button.rect["width"] >= 12
    page.run("document.querySelector('#figure-A').scrollIntoView()")
    shot = Image.open(io.BytesIO(base64.b64decode(driver.get_screenshot_as_base64()))).convert("RGB")
    assert shot.size == SIZES[size]
    # The tone of untouched tissue fills much of a drawing, so it was painted.
    share = np.mean(np.all(np.asarray(shot) == (0xEA, 0xB9, 0xAC), axis=-1))
    assert share > 0.03
    assert page.errors() == []


def test_on_a_laptop_sliders_drawing_verdict_and_figures_need_no_scrolling(page):
    for part in ("#A-material", "#figure-A svg", "#verdicts", "#table"):
        box = page.one(part).rect
        assert box["y"] + box["height"] <= SIZES["laptop"][1], part


def test_the_page_asks_for_nothing_from_anywhere(page):
    assert page.run("return performance.getEntriesByType('resource').map((one) => one.name)") == []


@pytest.mark.parametrize("both", [False, True], ids=["one", "two"])
def test_it_prints_to_one_sheet(page, both):
    if both:
        page.one("#two").click()
        page.one("#ask").click()
    screen = page.one("#figure-A svg").get_attribute("viewBox")
    page.run(
        "addEventListener('afterprint', () => { window.after = true; });"
        "addEventListener('beforeprint', () => { window.paper = "
        "document.querySelector('#figure-A svg').getAttribute('viewBox'); })"
    )
    sheet = page.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    pdf = base64.b64decode(sheet["data"])
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 1
    # Drawn anew at the size of the paper, so that its letters keep theirs, and put back.
    assert page.run("return window.paper") == ("0 0 236 249" if both else "0 0 480 287")
    assert page.run("return window.after") and page.one("#figure-A svg").get_attribute("viewBox") == screen


def with_intervals(cube: Cube) -> Cube:
    """The same map with three in four draws for each verdict, and depths from 100 to 1234 um."""
    bands = blank_bands(cube.shape, 8, "It covers this.")
    ends = dict.fromkeys(BANDED) | {"crater_depth": (100e-6, 1234e-6), "peak_temperature": (400.0, 900.0)}
    for index in np.ndindex(*cube.shape):
        others = {"charred": 0.25} if cube.word[index] != "charred" else {"clean": 0.25}
        bands.fill(index, Interval(ends, {str(cube.word[index]): 0.75} | others, 8, ""))
    return replace(cube, bands=bands)


def test_intervals_have_a_column_odds_stand_behind_the_verdict_and_it_prints_to_one_sheet(
    driver, made, tmp_path
):
    cube = with_intervals(made[1])
    class_page(cube, tmp_path / "page.html")
    page = opened(driver, tmp_path / "page.html", cube)
    assert page.one("#verdict-A .word").text.endswith(f"{cube.word[page.places()]}, 3 in 4")
    assert "3 in 4" in page.one("#spoken").get_attribute("textContent")
    assert page.one("#table thead").text == "Figure Value 90 % interval"
    assert page.one("tr[data-figure=crater_depth] td.interval").text == "100 µm – 1.23 mm"
    assert page.one("tr[data-figure=peak_temperature] td.interval").text == "127–627 °C"
    assert page.one("tr[data-figure=char_thickness_floor] td.interval").text == "–"
    assert page.one("#covers").text.startswith("It covers this.")
    assert page.one("#cells button.marked").get_attribute("title").endswith(", 3 in 4")
    page.one("#two").click()
    assert page.all("td.interval") == []
    hovered = page.one("tr[data-figure=crater_depth] td[data-set=B]").get_attribute("title")
    assert hovered == "90 % interval: 100 µm – 1.23 mm"
    page.one("#ask").click()
    sheet = page.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", base64.b64decode(sheet["data"]))) == 1
    assert page.errors() == []


def test_without_intervals_the_page_says_nothing_of_them(page):
    assert page.one("#table thead").text == "Figure Value" and not page.one("#covers").is_displayed()
    assert page.one("#verdict-A .word").text.endswith(str(page.cube.word[page.places()]))
    assert not page.one("tr[data-figure=crater_depth] td").get_attribute("title")


def test_a_map_that_lacks_points_says_how_many_and_works(driver, made, tmp_path):
    _, whole = made
    save_cube(whole, tmp_path / "map.h5")
    cube = load_cube(tmp_path / "map.h5")
    cube.word[0, 0, :] = ""
    for values in cube.measures.values():
        values[0, 0, :] = np.nan
    for values in cube.outlines.values():
        values[0, 0, :] = np.nan
    class_page(cube, tmp_path / "page.html")
    page = opened(driver, tmp_path / "page.html", cube)
    assert "2 of 60 settings are not computed yet" in page.one("#warnings").text
    page.press("#A-power", Key.HOME)
    page.press("#A-dwell", Key.HOME)
    assert "not computed" in page.one("#verdict-A .word").text
    assert page.figure("crater_depth") is None
    assert (
        not page.one("#figure-A svg").is_displayed() and "Not computed" in page.one("#figure-A .nothing").text
    )
    page.press("#A-power", Key.RIGHT)
    assert_shows(page, (1, 0, page.places()[2]))
    assert page.one("#figure-A svg").is_displayed()
    assert page.errors() == []


def test_paper_has_the_answers_that_are_open_on_a_sheet_of_their_own(page):
    def sheets() -> int:
        sheet = page.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
        return len(re.findall(rb"/Type\s*/Page\b(?!s)", base64.b64decode(sheet["data"])))

    page.one("#ask").click()
    assert sheets() == 1
    page.press("#asked summary", Key.SPACE)
    assert sheets() == 2
    page.one("#unfold").click()
    assert sheets() == 2
    page.one("#unfold").click()
    assert sheets() == 1
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert not page.one("#unfold").is_displayed() and page.one("#asked summary").is_displayed()
        assert not page.one("#asked .answer").is_displayed()
    finally:
        page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_a_copied_address_opens_the_same_view_and_a_broken_one_the_usual(driver, made, page):
    usual = page.places()
    page.one("#two").click()
    page.one("#ask").click()
    page.press("#A-power", Key.HOME)
    page.press("#B-dwell", Key.END)
    address, places = driver.current_url, [page.places(name) for name in ("A", "B")]
    assert "#A=" in address and "&B=" in address and address.endswith("&questions")
    driver.get("about:blank")
    driver.get(address)
    page.run("window.byIdValue = (id) => document.getElementById(id).value")
    assert [page.places(name) for name in ("A", "B")] == places
    assert page.one("#questions").is_displayed() and page.one("#figure-B svg").is_displayed()
    for broken in ("#A=9999,0", "#A=1.5,0,0&B=x", "#%00&&="):
        driver.get("about:blank")
        driver.get(f"{made[0].as_uri()}{broken}")
        page.run("window.byIdValue = (id) => document.getElementById(id).value")
        assert page.places() == usual


def test_it_is_dark_where_the_reader_wants_that_and_drawings_keep_their_paper(driver, made):
    driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": "dark"}]}
    )
    try:
        page = opened(driver, *made)
        colour = "return getComputedStyle(document.querySelector('{}')).{}"
        assert page.run(colour.format("html", "backgroundColor")) == "rgb(27, 25, 23)"
        assert page.run(colour.format("body", "color")) == "rgb(236, 232, 225)"
        assert page.run(colour.format("#figure-A svg", "backgroundColor")) == "rgb(255, 255, 255)"
        assert page.errors() == []
    finally:
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
