"""The citation: CITATION.cff, pyproject and the line in reports say the same."""

from __future__ import annotations

import tomllib
from pathlib import Path

import yaml

from spotdwell.document import citation
from spotdwell.evidence import report as evidence_report
from spotdwell.reports.document import document_of

ROOT = Path(__file__).parents[2]


def test_citation_file_says_what_the_project_and_the_line_say():
    found = yaml.safe_load((ROOT / "CITATION.cff").read_text(encoding="utf-8"))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert found["cff-version"] == "1.2.0" and found["type"] == "software"
    assert (found["version"], found["license"]) == (project["version"], project["license"])
    assert found["title"] == citation.TITLE
    assert [one["name"] for one in found["authors"]] == [citation.AUTHORS]
    assert str(citation.YEAR) in (ROOT / "LICENSE").read_text(encoding="utf-8")


def test_every_report_ends_with_the_line_of_the_version_that_computed_it(make):
    result = make()
    result.versions["spotdwell"] = "0.0.9"
    texts = repr(document_of(result))
    assert citation.citation("0.0.9") in texts
    assert "citation(" in Path(evidence_report.__file__).read_text(encoding="utf-8")
