"""The verb `card` as a user meets it."""

from __future__ import annotations

import pytest

from spotdwell.cards.card import Mark

SHOTS = ("card", "--on", "apple", "--power", "6 W, 15 W", "--dwell", "4 ms", "--spot", "0.6 mm")
QUICK = ("--refinement", 0.3, "--workers", 1)
REASON = "the crater reached the bottom of the target"


@pytest.mark.compiled
def test_card_writes_paper_page_and_table(call, tmp_path):
    files = {kind: tmp_path / f"card.{kind}" for kind in ("pdf", "html", "csv")}
    named = [part for kind, path in files.items() for part in (f"--{kind}", path)]
    answer = call(*SHOTS, *QUICK, *named)
    assert answer.code == 0, answer.err
    assert "2 shots in 1 group, 1 sheet" in answer.out
    assert "Lasers burn and blind" in answer.out
    assert files["pdf"].read_bytes().startswith(b"%PDF")
    assert "Test shots on apple" in files["html"].read_text()
    assert files["csv"].read_text().count("\n") == 6  # the caution, two hints, the header and two shots


@pytest.mark.compiled
def test_quiet_card_says_nothing(call, tmp_path):
    answer = call(*SHOTS, *QUICK, "--quiet", "--html", tmp_path / "card.html")
    assert (answer.code, answer.out, answer.err) == (0, "", "")


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        (SHOTS, "--pdf: expected a file for the card"),
        ((*SHOTS, "--pdf", "card.doc"), "--pdf: expected a file name that ends in .pdf"),
        ((*SHOTS, "--csv", "card.html"), "--csv: expected a file name that ends in .csv"),
        ((*SHOTS, "--laser", "none.toml", "--pdf", "a.pdf"), "--spot: expected no spot beside a laser"),
        ((*SHOTS[:-2], "--pdf", "a.pdf"), "--spot: expected a spot, or a laser file"),
        ((*SHOTS[:-2], "--laser", "none.toml", "--pdf", "a.pdf"), "none.toml: expected a laser file"),
        (("card", "--on", "apple", "--dwell", "4 ms", "--pdf", "a.pdf"), "--power"),
    ],
)
def test_wrong_card_is_told_with_exit_code_2(call, tmp_path, monkeypatch, arguments, match):
    monkeypatch.chdir(tmp_path)
    answer = call(*arguments)
    assert answer.code == 2
    assert match in answer.err
    assert list(tmp_path.iterdir()) == []


def test_card_that_cannot_be_written_is_told_before_anything_is_solved(call, tmp_path, monkeypatch):
    def solved(*_):
        raise AssertionError("solved")

    monkeypatch.setattr("spotdwell.cards.run.run_all", solved)
    answer = call(*SHOTS, "--pdf", tmp_path / "none" / "card.pdf")
    assert answer.code == 1
    assert "there is no folder" in answer.err


def test_stopped_card_leaves_nothing_and_says_so(call, tmp_path, monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("spotdwell.cards.run.run_all", stopped)
    answer = call(*SHOTS, "--pdf", tmp_path / "card.pdf")
    assert answer.code == 130
    assert "Stopped" in answer.err
    assert list(tmp_path.iterdir()) == []


def test_card_without_any_prediction_is_written_and_reported(call, tmp_path, monkeypatch):
    failed = Mark({}, "", REASON)
    monkeypatch.setattr("spotdwell.cards.run.run_all", lambda _, tasks, *rest: [failed] * len(tasks))
    answer = call(*SHOTS, "--html", tmp_path / "card.html")
    assert answer.code == 1
    assert f"No prediction: Apple, 6 W, 4 ms, 0.6 mm: {REASON}" in answer.err
    assert REASON in (tmp_path / "card.html").read_text()
