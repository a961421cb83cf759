"""Wrong input: exit code 2, one message that names what is wrong, and no traceback."""

from __future__ import annotations

import pytest

SHOT = {"--on": "skin", "--power": "25 W", "--spot": "1.6 mm", "--dwell": "80 ms"}


def shot_with(**changes: str | None) -> list[str]:
    """Arguments of a good shot with other values of these options; None leaves one out."""
    options = SHOT | {f"--{name.replace('_', '-')}": value for name, value in changes.items()}
    pairs = [pair for pair in options.items() if pair[1] is not None]
    return ["shot", *(word for pair in pairs for word in pair)]


WRONG_SHOTS = [
    ({"on": None}, "--on"),
    ({"on": "skn"}, "--on: expected a known material"),
    ({"on": "no_such.toml"}, "--on: expected a material file"),
    ({"power": None}, "--power: "),
    ({"power": "25"}, "--power: "),
    ({"power": "25 mm"}, "--power: "),
    ({"power": "-25 W"}, "--power: "),
    ({"power": "nan W"}, "--power: "),
    ({"spot": None}, "--spot: "),
    ({"spot": "0 mm"}, "--spot: "),
    ({"spot": "[bold]wide[/bold]"}, "--spot: "),
    ({"dwell": None}, "--dwell: "),
    ({"dwell": "80 kg"}, "--dwell: "),
    ({"definition": "fwhm"}, "--definition: "),
    ({"profile": "square"}, "--profile: "),
    ({"profile": "super-gaussian"}, "--order: "),
    ({"order": "3"}, "--order: "),
    ({"order": "x"}, "--order"),
    ({"inner_ratio": "0.5"}, "--inner-ratio: "),
    ({"wavelength": "5 um"}, "--wavelength: "),
    ({"plume_transmittance": "1.5"}, "--plume-transmittance: "),
    ({"count": "3"}, "--pause: "),
    ({"pause": "3 ms"}, "--count: "),
    ({"count": "0", "pause": "3 ms"}, "--count: "),
    ({"count": "3", "pause": "-3 ms"}, "--pause: "),
    ({"count": "3", "pause": "3 ms", "dwell": "8"}, "--dwell: "),
    ({"pulse_duration": "1 ms"}, "--repetition-rate: "),
    ({"pulse_duration": "10 ms", "repetition_rate": "200 Hz"}, "--pulse-duration: "),
    ({"peak_power": "80 W", "pulse_duration": "1 ms", "repetition_rate": "100 Hz"}, "--power: "),
    ({"thickness": "2"}, "--thickness: "),
    ({"film": "0 um"}, "--film: "),
    ({"backing": "steel"}, "--backing: "),
    ({"backing": "open air"}, "--thickness: "),
    ({"backing_temperature": "20 degC"}, "--backing-temperature: "),
    ({"initial_temperature": "37"}, "--initial-temperature: "),
    ({"initial_temperature": "-300 degC"}, "--initial-temperature: "),
    ({"end_temperature": "20 degC"}, "--end-temperature: "),
    ({"save_times": "5 ms, 7"}, "--save-times: "),
    ({"end_time": "1 ms", "save_times": "5 ms"}, "--save-times: "),
    ({"geometry": "slab"}, "--geometry: "),
    ({"geometry": "cube"}, "--geometry: "),
    ({"refinement": "0"}, "--refinement: "),
    ({"char_limit": "-1 um"}, "--char-limit: "),
    ({"depth_limit": "deep"}, "--depth-limit: "),
    ({"title": ""}, "--title: "),
    ({"colour": "red"}, "--colour"),
]


@pytest.mark.parametrize(("changes", "named"), WRONG_SHOTS, ids=str)
def test_wrong_option_is_named(call, changes, named):
    answer = call(*shot_with(**changes))
    assert answer.code == 2
    assert answer.out == ""
    assert answer.err.startswith("Error: ")
    assert named in answer.err
    assert "Traceback" not in answer.err


WRONG_COMMANDS = [
    (["rnu"], '"rnu"'),
    (["--verbose"], "--verbose"),
    (["run"], "SCENARIO"),
    (["run", "spott"], "Did you mean spot?"),
    (["run", "no_such.toml"], "SCENARIO: expected the path of a scenario file"),
    (["run", ""], "SCENARIO"),
    (["run", "."], "SCENARIO"),
    (["run", "spot", "veneer"], "veneer"),
    (["run", "spot", "--ot", "x.h5"], "--ot"),
    (["run", "spot", "--out", "spot.txt"], "--out: expected a file name that ends in .h5"),
    (["run", "spot", "--picture", "spot.gif"], "--picture: "),
    (["run", "spot", "--out"], "--out"),
    (["plot", "no_such.h5"], "no_such.h5: expected a result file"),
    (["list", "materials", "skn"], "Did you mean skin?"),
    (["list", "scenarios", "spt"], "Did you mean spot?"),
    (["list", "lasers"], "lasers"),
    (["selfcheck", "absorbtion"], "Did you mean absorption"),
]


@pytest.mark.parametrize(("arguments", "named"), WRONG_COMMANDS, ids=str)
def test_wrong_command_line_is_explained(call, arguments, named):
    answer = call(*arguments)
    assert answer.code == 2
    assert named in answer.err
    assert "Traceback" not in answer.err + answer.out


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("title = ", "TOML"),
        ("", "beam"),
        ('[beam]\nwavelength = "10.6 um"\npowr = "25 W"\n', "beam.powr"),
        ("\x00", "TOML"),
    ],
)
def test_wrong_scenario_file_is_named_with_its_key(call, tmp_path, text, named):
    path = tmp_path / "mine.toml"
    path.write_text(text)
    answer = call("run", path)
    assert answer.code == 2
    assert str(path) in answer.err and named in answer.err


def test_grid_that_does_not_fit_is_refused_before_the_run(call, slab):
    slab.write_text(slab.read_text().replace('power = "20 W"', 'power = "20 W"\ncentre = ["1 mm", "0 mm"]'))
    answer = call("run", slab)
    assert answer.code == 2
    assert f"{slab}: beam.centre" in answer.err


def test_several_problems_are_told_at_once(call):
    answer = call(*shot_with(power=None, spot=None, dwell=None))
    assert answer.code == 2
    assert all(f"\n  {name}: " in answer.err for name in ("--power", "--spot", "--dwell"))


@pytest.mark.parametrize("option", ["--out", "--picture"])
def test_file_that_cannot_be_written_is_refused_before_the_run(call, slab, tmp_path, monkeypatch, option):
    from spotdwell import pipeline

    monkeypatch.setattr(pipeline, "run", lambda *_: pytest.fail("the run began"))
    suffix = {"--out": "h5", "--picture": "png"}[option]
    answer = call("run", slab, option, tmp_path / "no_such_folder" / f"slab.{suffix}")
    assert answer.code == 1
    assert "no folder" in answer.err


def test_plot_refuses_a_file_that_is_no_result(call, slab, tmp_path):
    answer = call("plot", slab, "--history", tmp_path / "history.png")
    assert answer.code == 2
    assert "not HDF5" in answer.err
    assert not (tmp_path / "history.png").exists()


def test_result_is_still_shown_if_it_cannot_be_kept(call, slab, tmp_path, monkeypatch):
    from spotdwell.base.errors import RunError
    from spotdwell.output.result import Result

    def full(_result: Result, path: object) -> None:
        raise RunError(f"{path}: cannot be written: the disk is full")

    monkeypatch.setattr(Result, "save", full)
    answer = call("run", slab, "--out", tmp_path / "slab.h5", "--picture", tmp_path / "slab.png")
    assert answer.code == 1
    assert "Verdict: clean" in answer.out
    assert "the disk is full" in answer.err
    assert (tmp_path / "slab.png").exists()


UNREADABLE = [
    (("page", "map.h5"), "--out: expected FILE.html (the page), got nothing. Add it."),
    (("page", "--out", "p.html"), "spotdwell page: expected MAP.h5 (file that map --out wrote), got nothing"),
    (
        ("page", "a.h5", "b.h5", "--out", "p.html"),
        "spotdwell page: expected no more words than its help names, got b.h5. Leave it out",
    ),
    (
        ("card", "--repeats", "2"),
        "--repeats: expected an option of spotdwell card, got none of that name. Did you",
    ),
    (("craters", "a.csv", "--dial"), "--dial: expected a value after it, got nothing. Add one"),
    (("spot", "--beam-quality", "x"), '--beam-quality: expected a number, got "x"'),
    (("card", "--repeat", "1.5"), '--repeat: expected a whole number, got "1.5"'),
    (("shoot",), 'spotdwell: expected a verb, got "shoot". Did you mean shot'),
]


@pytest.mark.parametrize(("arguments", "said"), UNREADABLE)
def test_what_cannot_be_read_says_where_and_what_was_expected_and_got(call, arguments, said):
    answer = call(*arguments)
    assert answer.code == 2 and answer.out == ""
    assert answer.err.startswith(f"Error: {said}")
    assert answer.err.splitlines()[-1].startswith("Help: spotdwell")
