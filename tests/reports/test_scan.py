"""The report of a scan: what it holds on page and paper, from a result, a file or a scenario."""

import pytest

import spotdwell
from spotdwell.base.errors import InputError
from spotdwell.document.printed import html
from spotdwell.inputs.shot import scenario_with
from spotdwell.pipeline import scenario_at_path
from spotdwell.reports.scan_document import document_of_scan
from spotdwell.spread.run import uncertainty

pytestmark = pytest.mark.compiled
PATTERN = {"length": "2 mm", "width": "0.3 mm", "spacing": "0.1 mm", "speed": "465 mm/s"}
CELLS = {"cell_width": "25 um", "cell_depth": "12 um"}


@pytest.fixture(scope="module")
def scan():
    return spotdwell.scan("soft_tissue", "30 W", "0.2 mm", coagulation_limit="50 um", **PATTERN, **CELLS)


def test_it_says_pattern_verdict_measures_energies_and_sources(scan):
    text = html(document_of_scan(scan))
    assert "back and forth" in text and "465 mm/s" in text
    assert f"Verdict: {scan.verdict.text} (over a limit)" in text
    assert f"{1e6 * scan.measures['depth_mean']:.3g}" in text
    for said in (
        "over the limit of 50",
        "that a line meets",
        "edge, most",
        "Where the energy went",
        "IEC 60825-1",
    ):
        assert said in text, said
    assert "the values that this run used" in text
    assert text.count("<svg") == 2


def test_it_is_written_from_a_result_and_from_a_file_alike(scan, tmp_path):
    kept, files = tmp_path / "scan.h5", [tmp_path / f"{name}.html" for name in ("one", "two")]
    scan.save(kept)
    spotdwell.report(scan, html=files[0], pdf=tmp_path / "one.pdf")
    spotdwell.report(kept, html=files[1])
    assert files[0].read_text() == files[1].read_text()
    assert (tmp_path / "one.pdf").read_bytes().startswith(b"%PDF")


def test_intervals_of_a_shot_do_not_stand_beside_a_scan(scan, tmp_path):
    slab = scenario_with(scenario_at_path("spot"), {"grid.geometry": "slab", "grid.area": "1 mm2"})
    study = uncertainty(scenario_with(slab, {"run.end_time": "1 ms"}), samples=8, workers=1)
    with pytest.raises(InputError, match="uncertainty: expected nothing beside a scan"):
        spotdwell.report(scan, html=tmp_path / "scan.html", uncertainty=study)


def test_the_verb_reports_a_kept_scan(scan, tmp_path, capsys):
    from spotdwell.cli import main

    kept = tmp_path / "scan.h5"
    scan.save(kept)
    assert main(["report", str(kept), "--html", str(tmp_path / "scan.html"), "--quiet"]) == 0
    assert (tmp_path / "scan.html").stat().st_size > 20_000
    assert main(["report", str(kept), "--html", str(tmp_path / "s.html"), "--uncertainty", "8"]) == 2
    assert "--uncertainty" in capsys.readouterr().err


def test_a_notebook_shows_section_verdict_and_measures(scan):
    shown = scan._repr_html_()
    assert shown.count("<svg") == 1
    assert f"<b>{scan.verdict.text}</b>" in shown
    assert "mean depth inside the area" in shown


def test_the_verb_run_names_the_one_for_a_kept_scan(scan, tmp_path, capsys):
    from spotdwell.cli import main

    kept = tmp_path / "scan.h5"
    scan.save(kept)
    assert main(["run", str(kept)]) == 2
    assert "Solve it with the verb scan" in " ".join(capsys.readouterr().err.split())
