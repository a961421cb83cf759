"""Foreign text: control characters, formulas of spreadsheets, nests without end, files that are none."""

from __future__ import annotations

import os

import pytest

from spotdwell.base import foreign


@pytest.mark.parametrize(
    "text", ["\x1b[2J", "a\x00b", "\x07", "\x9b31m", "\u202egnp.exe", "\ud800", "a\u2028b", "a\rb"]
)
def test_control_characters_are_seen_and_shown_as_a_sign(text):
    assert not foreign.is_clean(text)
    assert foreign.is_clean(foreign.shown(text))
    assert len(foreign.shown(text)) == len(text)


@pytest.mark.parametrize("text", ["", "Größe 25 µm", "a\tb\nc", "皮膚", "שלום", "नमस्ते", "$x$", "👩\u200d⚕️"])
def test_text_that_people_write_stays_as_it_is(text):
    assert foreign.is_clean(text) and foreign.shown(text) == text


@pytest.mark.parametrize("text", ["=1+1", "+x", "-x", "@SUM(1)", "\t=1"])
def test_a_cell_that_a_spreadsheet_would_run_is_marked_and_reads_back(text):
    assert foreign.cell(text) == f"'{text}"
    assert foreign.from_cell(foreign.cell(text)) == text


@pytest.mark.parametrize("text", ["-2", "+1.5e-3", "skin", "", "'quoted'", "1 W"])
def test_numbers_and_plain_words_are_no_formulas(text):
    assert foreign.cell(text) == text and foreign.from_cell(text) == text


def test_deep_tables_and_bad_keys_are_found_without_recursion():
    deep: list[object] = []
    for _ in range(100_000):
        deep = [deep]
    assert "tables within tables" in next(foreign.faults({"x": deep}))[1]
    assert next(foreign.faults({"a": {"b\x1b": 1}})) == (("a",), "control characters in a key")
    assert list(foreign.faults({"a": [{"b": "fine"}]})) == []


def test_files_are_read_to_a_limit_and_devices_not_at_all(tmp_path):
    path = tmp_path / "text"
    path.write_bytes(b"\xef\xbb\xbfa\r\nb")
    assert foreign.text_of(path, 100) == "a\nb"
    with pytest.raises(ValueError, match="more than"):
        foreign.text_of(path, 5)
    with pytest.raises(OSError, match="folder"):
        foreign.text_of(tmp_path, 5)
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(OSError, match="pipe"):
            foreign.text_of(tmp_path / "pipe", 5)
