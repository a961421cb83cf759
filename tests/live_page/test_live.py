"""The page is told what the same shot says elsewhere; the newest setting wins; files can be repeated."""

from __future__ import annotations

import json
import multiprocessing
import os
import shlex
import signal
import subprocess
import sys
import threading
import time
import tomllib

import numpy as np
import pytest

import spotdwell
from spotdwell.base.errors import InputError, RunError
from spotdwell.cli import main
from spotdwell.live_page.knobs import KNOBS, kwargs_of
from spotdwell.live_page.shown import MOST_ROWS, shown, thinned, why_of
from spotdwell.live_page.take import WAYS, command_of, python_of
from spotdwell.live_page.tasks import Task, plan_around

from .conftest import LASER, SHOT

pytestmark = pytest.mark.compiled


def test_the_full_shot_is_the_shot_of_python(served):
    findings = dict(served.do("shot", SHOT))
    result = spotdwell.shot(**SHOT)
    full = findings["full"]
    assert full["word"] == result.verdict.word
    assert full["values"]["crater_depth"] == pytest.approx(result.measures["crater_depth"], rel=1e-5)
    assert {row["name"]: row["text"] for row in full["rows"]} == {
        name: shown(name, result.measures[name], result.measures.get("cell_depth"))
        for name in full["values"]
        if result.measures[name] is not None
    }
    # Outlines join columns, the measure interpolates between them.
    assert full["outlines"]["depths"][0][0] == pytest.approx(1e6 * result.measures["crater_depth"], rel=0.1)


def test_the_rough_shot_comes_first_and_alone_while_a_knob_moves(served):
    settings = SHOT | {"power": "6.3 W"}
    assert [kind for kind, _ in served.do("shot", settings, moving="yes")] == ["coarse", "done"]
    assert [kind for kind, _ in served.do("shot", settings)] == ["coarse", "full", "intervals", "done"]
    # What was just solved is not solved again.
    assert [kind for kind, _ in served.do("shot", settings)] == ["full", "done"]


def test_a_newer_setting_stops_an_older_one(served):
    """The long one takes seconds; the next is answered long before."""
    long = SHOT | {"dwell": "80 ms", "count": "50", "pause": "500 ms"}
    ended: list[str] = []
    older = threading.Thread(target=lambda: ended.append(served.do("shot", long)[-1][0]))
    older.start()
    time.sleep(0.3)
    began = time.monotonic()
    assert served.do("shot", SHOT | {"power": "7 W"})[-1][0] == "done"
    assert time.monotonic() - began < 5.0
    older.join(10.0)
    assert ended == ["superseded"]


def test_what_is_wrong_is_said_of_its_knob(served):
    (kind, found), *_ = served.do("shot", SHOT | {"power": "5"})
    assert kind == "wrong"
    assert found == [
        {
            "where": "power",
            "expected": 'a quantity in W, such as "25 W"',
            "got": '"5"',
            "advice": "The unit is missing.",
        }
    ]


def test_a_process_that_dies_is_started_again(served):
    dead = served.live._desk.shots._process
    served.do("shot", SHOT)
    os.kill(dead.pid, signal.SIGKILL)
    dead.join()
    assert served.do("shot", SHOT | {"power": "8 W"})[-1][0] == "done"


def test_a_search_finds_what_the_verb_finds(served):
    findings = served.do("find", SHOT, unknown="spot", depth="50 um")
    answer = dict(findings)["answer"]
    sized = spotdwell.size("skin", "50 um", power="5 W", dwell="2 ms")
    assert answer["found"] == sized.found
    assert answer["name"] == "spot"
    assert float(answer["value"].split()[0]) == pytest.approx(
        sized.trial.value * (1e6 if "um" in answer["value"] else 1e3), rel=2e-3
    )
    assert sum(kind == "trial" for kind, _ in findings) >= 2


@pytest.mark.parametrize(
    ("options", "where"),
    [
        ({"unknown": "colour", "depth": "50 um"}, "unknown"),
        ({"unknown": "spot", "depth": "50"}, "depth"),
        ({"unknown": "spot"}, "depth"),
    ],
)
def test_a_wrong_search_says_why(served, options, where):
    (kind, found), *_ = served.do("find", SHOT, **options)
    assert (kind, found[0]["where"]) == ("wrong", where)


def test_a_map_has_the_setting_in_its_middle_and_the_verdicts_of_shots(tmp_path):
    plan = plan_around(Task("map", SHOT, tmp_path, {"across": "dwell", "up": "power"}))
    assert plan.shape == (7, 7)
    assert [axis.values[3] for axis in plan.axes] == [pytest.approx(2e-3), pytest.approx(5.0)]
    for axis in plan.axes:
        np.testing.assert_allclose(np.diff(np.log(axis.values)), np.log(1.3), rtol=0.02)


def test_a_map_fills_in_from_the_middle(served):
    tiny = SHOT | {"power": "1 W", "spot": "0.4 mm", "dwell": "0.2 ms"}
    findings = served.do("map", tiny, across="spot", up="power")
    points = [found for kind, found in findings if kind == "point"]
    assert points[0]["place"] == [3, 3]
    assert len({tuple(one["place"]) for one in points}) == 49
    assert points[0]["word"] == dict(served.do("shot", tiny))["full"]["word"]


@pytest.mark.parametrize("pair", [("spot", "spot"), ("colour", "power"), ("count", "power")])
def test_a_map_of_other_axes_is_refused(served, pair):
    (kind, _), *_ = served.do("map", SHOT, across=pair[0], up=pair[1])
    assert kind == "wrong"


def test_a_laser_file_takes_the_place_of_the_spot(served):
    (served.folder / "co2.toml").write_text(LASER, encoding="utf-8")
    status, _, body = served.ask("start")
    assert status == 200
    (laser,) = json.loads(body)["lasers"]
    assert laser["dials"] == [{"dial": "1", "spot": "0.5 mm"}, {"dial": "2", "spot": "1 mm"}]
    settings = {name: text for name, text in SHOT.items() if name != "spot"}
    found = dict(served.do("shot", settings | {"laser": "co2.toml", "dial": "2"}))["full"]
    assert found["beam"]["diameter"] == pytest.approx(1000.0)
    assert served.do("find", settings | {"laser": "co2.toml", "dial": "2"}, unknown="spot", depth="9 um")[0][
        0
    ] == ("wrong")


@pytest.mark.parametrize("what", WAYS)
def test_what_is_taken_away_lies_in_the_folder_and_is_handed_out(served, what):
    taken = dict(served.do("take", SHOT, what=what))["taken"]
    again = dict(served.do("take", SHOT, what=what))["taken"]
    assert taken["name"] != again["name"]
    for one in (taken, again):
        assert (served.folder / one["name"]).stat().st_size > 300
    status, headers, body = served.ask(f"taken/{taken['name']}")
    assert status == 200
    assert headers["content-disposition"].startswith("attachment")
    assert body == (served.folder / taken["name"]).read_bytes()
    if what == "scenario":
        assert tomllib.loads(body.decode())["beam"]["power"] == "5 W"
        assert (
            spotdwell.run(spotdwell.read_scenario(served.folder / taken["name"])).verdict
            == spotdwell.shot(**SHOT).verdict
        )
    if what == "result":
        assert spotdwell.load(served.folder / taken["name"]).verdict == spotdwell.shot(**SHOT).verdict


def test_a_card_says_that_it_holds_no_train(served):
    (kind, found), *_ = served.do("take", SHOT | {"count": "2", "pause": "50 ms"}, what="card")
    assert kind == "wrong"
    assert "single exposure" in found[0]["expected"]


def test_the_command_and_the_python_repeat_the_shot(served, tmp_path, capsys, monkeypatch):
    settings = SHOT | {"count": "2", "pause": "50 ms"}
    status, _, body = served.ask("words", {"settings": settings})
    assert status == 200
    words = json.loads(body)
    found = dict(served.do("shot", settings))["full"]
    monkeypatch.chdir(tmp_path)
    assert main([*shlex.split(words["command"])[1:], "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["measures"]["crater_depth"] == pytest.approx(found["values"]["crater_depth"], rel=1e-5)
    assert len(words["python"].splitlines()) == 5
    exec(words["python"], {})
    assert capsys.readouterr().out.split()[0] == found["word"].split()[0]
    assert (tmp_path / "shot.png").stat().st_size > 1000


def test_a_name_in_the_command_stays_one_word():
    settings = {"material": "skin", "dial": 'x"; rm $HOME `y`'}
    assert shlex.split(command_of(settings))[-1] == settings["dial"]
    assert eval(python_of(settings).splitlines()[1].removeprefix("settings = ")) == {"dial": settings["dial"]}


def test_knobs_start_where_the_first_shot_of_the_readme_stands(tmp_path):
    start = {one.name: one.start for one in KNOBS if one.part == "shot"}
    assert kwargs_of({"material": "oral_mucosa", **start}, tmp_path)["power"] == "25 W"
    for knob in KNOBS:
        number = float(knob.start.split()[0])
        assert knob.low <= number <= knob.high


def test_a_history_is_thinned_and_keeps_its_ends():
    time_ = np.concatenate([np.linspace(0.0, 1.0, 5000), np.geomspace(1.001, 100.0, 2000)])
    rows = thinned(time_, 1.0, MOST_ROWS)
    assert rows.size <= MOST_ROWS
    assert (rows[0], rows[-1]) == (0, time_.size - 1)
    assert np.diff(time_[rows][time_[rows] <= 1.0]).max() < 0.01


def test_the_reason_for_clean_names_the_char(served):
    result = spotdwell.shot("oral_mucosa", "25 W", "1.6 mm", "80 ms")
    assert result.verdict.word == "clean"
    most = max(result.measures[f"char_thickness_{place}"] for place in ("floor", "wall", "rim"))
    assert shown("char_thickness_wall", most, result.measures.get("cell_depth")) in why_of(result)


def test_it_ends_with_its_processes(tmp_path):
    before = set(multiprocessing.active_children())
    page = spotdwell.live("skin", tmp_path, show=False)
    assert page.serving
    assert page.address in page._repr_html_()
    mine = set(multiprocessing.active_children()) - before
    assert mine
    page.stop()
    assert not page.serving
    assert not any(one.is_alive() for one in mine)
    assert "ended" in repr(page)


@pytest.mark.parametrize(
    ("wrong", "error"),
    [
        ({"folder": "nowhere"}, InputError),
        ({"port": -1}, InputError),
        ({"power": "5"}, InputError),
        ({"material": "cheese"}, InputError),
        ({"colour": "red"}, InputError),
    ],
)
def test_a_wrong_start_says_so(wrong, error):
    with pytest.raises(error):
        spotdwell.live(**({"show": False} | wrong))


def test_a_taken_port_is_told(served):
    with pytest.raises(RunError, match="port"):
        spotdwell.live(show=False, port=served.live.port)


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent as POSIX does")
def test_ctrl_c_ends_the_command_clean(tmp_path):
    command = [sys.executable, "-m", "spotdwell", "live", "--no-browser", "--folder", str(tmp_path)]
    ran = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        # A job in the background would ignore it.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    try:
        line = ran.stdout.readline()
        assert line.startswith("The page is at http://127.0.0.1:")
        ran.send_signal(signal.SIGINT)
        out, err = ran.communicate(timeout=30)
    finally:
        ran.kill()
    assert ran.returncode == 0, err
    assert "Ended." in err
    assert "Traceback" not in err + out
