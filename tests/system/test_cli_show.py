"""The verbs that show and check: list, plot, schema, selfcheck, and the help."""

from __future__ import annotations

import json
import tomllib

import pytest

from spotdwell import library
from spotdwell.evidence import selfcheck
from spotdwell.library import Shelf

VERBS = (
    ("run",),
    ("shot",),
    ("plot",),
    ("selfcheck",),
    ("schema",),
    ("live",),
    ("list",),
    ("list", "materials"),
    ("list", "scenarios"),
)


@pytest.mark.parametrize("verb", VERBS, ids=" ".join)
def test_help_of_each_verb_has_an_example(call, verb):
    answer = call(*verb, "--help")
    assert answer.code == 0
    assert f"Example: spotdwell {' '.join(verb)}" in answer.out
    assert max(map(len, answer.out.split("\n"))) <= 80


def test_help_warns_and_names_every_verb(call):
    text = call("--help").out
    assert "Lasers burn and blind" in text
    assert all(verb in text for verb in ("run", "shot", "list", "plot", "selfcheck", "schema"))
    assert call().out == text


def test_examples_in_the_help_are_accepted(call, monkeypatch):
    import shlex

    from spotdwell.shots import run

    asked = []
    monkeypatch.setattr(run, "carry_out", lambda scenario, wanted: asked.append(scenario))
    for verb in ("run", "shot"):
        words = " ".join(call(verb, "--help").out.split())
        example = words.split("Example: spotdwell ")[1].split(" A train:")[0].split(" ╭")[0]
        assert call(*shlex.split(example)).code == 0
    assert len(asked) == 2


def test_version_is_that_of_the_package(call):
    from importlib.metadata import version

    assert call("--version").out == f"spotdwell {version('spotdwell')}\n"


def test_materials_are_listed_with_the_basis_of_their_values(call):
    text = call("list", "materials").out
    assert all(f"\n{name} " in f"\n{text}" for name in library.names(Shelf.MATERIALS))
    assert "assumed" in text


def test_material_is_shown_with_every_source_once(call):
    from spotdwell.inputs.material_view import rows_of
    from spotdwell.inputs.read import shipped_material

    words = " ".join(call("list", "materials", "skin").out.split("Sources")[1].split())
    sources = list(dict.fromkeys(row.source for row in rows_of(shipped_material("skin"))))
    assert words == " ".join(f"[{number}] {source}" for number, source in enumerate(sources, 1))


def test_material_is_shown_with_what_throws_it_out_and_what_it_borrows(call):
    text = call("list", "materials", "skin").out
    assert "300 degC (8.6 MPa)" in text
    assert "heat that debris" in text
    assert "What its own file does not state comes from families/moist_tissue." in " ".join(text.split())


def test_material_file_can_be_shown_too(call):
    path = library.find(Shelf.MATERIALS, "liver")
    assert call("list", "materials", path).out == call("list", "materials", "liver").out


def test_every_shipped_scenario_is_listed(call):
    listed = {line.split()[0] for line in call("list", "scenarios").out.split("\n") if line.strip()}
    folder = library.folder(Shelf.SCENARIOS)
    shipped = {path.relative_to(folder).with_suffix("").as_posix() for path in folder.rglob("*.toml")}
    assert shipped and shipped <= listed


@pytest.mark.parametrize("name", ["spot", "verification/absorption"])
def test_text_of_a_scenario_is_printed_as_it_is(call, name):
    assert call("list", "scenarios", name).out == library.text(Shelf.SCENARIOS, name)


def test_printed_schema_is_json_that_knows_the_tables(call):
    tables = json.loads(call("schema").out)["properties"]
    assert set(tomllib.loads(library.text(Shelf.SCENARIOS, "spot"))) <= set(tables)


def test_plot_draws_what_is_asked(call, slab, tmp_path):
    kept, picture = tmp_path / "slab.h5", tmp_path / "cut.svg"
    call("run", slab, "--quiet", "--out", kept)
    assert call("plot", kept, "--cross-section", picture).out == f"Saved {picture}\n"
    assert b"<svg" in picture.read_bytes()
    assert not list(tmp_path.glob("*.png"))


def test_plot_draws_both_pictures_beside_the_result_by_itself(call, slab, tmp_path):
    kept = tmp_path / "slab.h5"
    call("run", slab, "--quiet", "--out", kept)
    assert call("plot", kept).code == 0
    assert {path.name for path in tmp_path.glob("*.png")} == {"slab_section.png", "slab_history.png"}


def test_selfcheck_prints_claim_error_tolerance_and_order(call):
    answer = call("selfcheck", "absorption")
    assert answer.code == 0
    for text in ("claimed", "computed", "error", "tolerance", "observed order", "checks passed"):
        assert text in answer.out
    assert "Running: Absorption in depth" in answer.err


def test_selfcheck_exits_with_1_if_a_check_fails(call, monkeypatch):
    good, bad = (
        selfcheck.Check(
            name, "A title", "depth", 1.0, 1.5, "m", 0.5, 0.1, "of claimed", "Because.", None, passed, 0.1
        )
        for name, passed in (("absorption", True), ("damage", False))
    )
    found = {"absorption": good, "damage": bad}
    monkeypatch.setattr(selfcheck, "run_checks", lambda progress=None, names=(): [found[names[0]]])
    answer = call("selfcheck", "absorption", "damage")
    assert answer.code == 1
    assert "1 of 2 checks passed; failed: damage" in answer.out
    assert "FAILED  depth: claimed 1.0000 m, computed 1.5000 m" in answer.out
