"""Test-shot cards: places, sheets, drawings to scale, and the same words on paper, page and table."""

from __future__ import annotations

import csv
import re
from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from spotdwell.base.errors import InputError, RunError
from spotdwell.cards import words
from spotdwell.cards.card import Group, Mark, Setting, Target
from spotdwell.cards.document import (
    MOST_SHEETS,
    Card,
    check_size,
    circles,
    document_of,
    map_scale,
    mark_drawing,
    scale_of,
    sheets_of,
)
from spotdwell.document.paper import END, HEIGHT, MARGIN, WIDTH, pages
from spotdwell.document.printed import html as html_of
from spotdwell.document.quantities import ABSENT
from spotdwell.measure.verdict import Word
from spotdwell.output.pictures.canvas import INCH, blank

APPLE = Target("apple", "Apple", 295.15)
TISSUE = Target("soft_tissue", "Soft tissue", 310.15)
REASON = "the crater reached the bottom of the target at 6.1 mm"


def mark(width=0.8e-3, depth=0.4e-3, **others) -> Mark:
    measures = {
        "deepest": depth,
        "crater_width": width,
        "char_thickness_floor": 20e-6,
        "char_thickness_wall": 30e-6,
        "char_thickness_rim": 50e-6,
        "dried_thickness_rim": 200e-6,
        "coagulation_thickness_floor": None,
        "coagulation_thickness_wall": None,
        "coagulation_thickness_rim": None,
        "end_time": 2.4,
    }
    return Mark(measures | others, "clean", "", 0.1e-3)


def card_of(groups=2, columns=3, repeat=1, tissue=True, **others) -> Card:
    """A card whose every mark is alike."""
    settings = tuple(
        Setting(5.0 * (row + 1), 5.0 * (row + 1), 0.01 * (column + 1), 0.8e-3)
        for row in range(groups)
        for column in range(columns)
    )
    lines = tuple(
        Group(chr(65 + row), tuple(range(row * columns, (row + 1) * columns)), f"Set power {row}")
        for row in range(groups)
    )
    marks = tuple(mark() for _ in settings)
    card = Card(
        "",
        APPLE,
        TISSUE if tissue else None,
        "10.6 um, gaussian, spot by 1/e2",
        10.6e-6,
        "1/e2",
        "",
        settings,
        marks,
        marks if tissue else (),
        lines,
        repeat,
        52e-6,
        {"spotdwell": "0"},
    )
    return replace(card, **others)


def failed(card: Card, at: int) -> Card:
    marks = list(card.marks)
    marks[at] = Mark({}, "", REASON, 0.1e-3)
    return replace(card, marks=tuple(marks))


def crowded() -> Card:
    """A card on which everything takes the most room."""
    card = card_of(3, 3, laser="A laser with a long name " * 5)
    bench = replace(APPLE, name="pmma", title="Acrylic (PMMA)")
    settings = tuple(replace(one, on_target=0.8 * one.power) for one in card.settings)
    return replace(card, bench=bench, settings=settings, marks=(mark(depth=3e-3), *card.marks[1:]))


def html(card: Card) -> str:
    return html_of(document_of(card))


def figures(card: Card) -> list:
    return pages(document_of(card))


def texts_of(figure) -> list[str]:
    return [text.get_text() for axes in figure.axes for text in axes.texts]


def test_places_go_along_each_group_and_numbers_go_on():
    card = card_of(groups=2, columns=2, repeat=2)
    assert [card.place(one) for one in card.shots] == ["A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4"]
    assert [one.number for one in card.shots] == list(range(1, 9))
    assert [one.setting for one in card.shots] == [0, 0, 1, 1, 2, 2, 3, 3]


def test_neighbours_do_not_touch_even_with_their_heat():
    wide = mark(width=5e-3)
    card = card_of()
    card = replace(card, marks=(*card.marks[:-1], wide))
    # 5 mm of crater, 0.2 mm dried and 0.1 mm of heat on either side.
    assert_allclose(2.0 * wide.reach(0.8e-3), 5.6e-3, rtol=1e-12)  # arithmetic
    assert_allclose(card.pitch, 6e-3, rtol=1e-12)  # rounded up to the half millimetre
    assert_allclose(card.piece, (18e-3, 12e-3), rtol=1e-12)


def test_a_beam_wider_than_its_mark_sets_the_distance():
    narrow = mark(width=0.0, depth=0.0, dried_thickness_rim=0.0, char_thickness_rim=0.0)
    assert_allclose(narrow.reach(4e-3), 2.1e-3, rtol=1e-12)  # half the beam, and the heat


def test_a_shot_without_prediction_keeps_a_beam_diameter_away():
    assert_allclose(Mark({}, "", REASON, 0.1e-3).reach(0.8e-3), 0.9e-3, rtol=1e-12)  # arithmetic


def test_piece_is_thicker_than_the_deepest_mark_and_its_heat():
    # 0.4 mm deep, 0.2 mm dried and 0.1 mm of heat: the next millimetre.
    assert_allclose(card_of().thickness, 1e-3, rtol=1e-12)
    assert card_of().wait == 3.0


def test_no_prediction_at_all_gives_no_thickness_and_no_wait():
    card = card_of(groups=1, columns=1, tissue=False)
    bare = failed(card, 0)
    assert bare.thickness is None
    assert bare.wait is None
    assert "until it is cold" in dict(words.set_up(bare))["Pause"]


def test_circles_are_to_scale_and_nested():
    diameters = {paint.name: size for paint, size in circles(mark())}
    assert list(diameters) == ["dried", "char", "crater"]  # the outermost is drawn first
    assert_allclose(list(diameters.values()), [1.2e-3, 0.9e-3, 0.8e-3], rtol=1e-12)  # width and two rims
    figure, drawing = blank(8.0, 8.0), mark_drawing(mark(), 5.0, 8.0)
    drawing.paint(figure, (0.0, 0.0, 8.0 / INCH, 8.0 / INCH))
    drawn = [2.0 * circle.get_radius() for circle in figure.axes[0].patches]
    assert_allclose(drawn, [6.0, 4.5, 4.0], rtol=1e-12)
    assert drawing.words == "dried 1.20 mm, char 0.90 mm, crater 0.80 mm"


def test_all_marks_share_the_largest_scale_that_fits():
    card = card_of()
    assert scale_of(card, 7.7) == 6.0  # 1.2 mm: 7.2 mm
    assert scale_of(replace(card, marks=(*card.marks[:-1], mark(width=3e-3))), 7.7) == 2.0
    assert map_scale(card) == 2.0


def test_every_sheet_holds_what_fits_and_groups_stay_together():
    card = card_of(groups=4, columns=5)
    sheets = sheets_of(card)
    assert [shot.number for sheet in sheets for shot in sheet] == list(range(1, 21))
    for sheet in sheets:
        assert {shot.group for shot in sheet} & {
            s.group for o in sheets if o is not sheet for s in o
        } == set()
    assert len(figures(card)) == len(sheets)


def test_nine_shots_in_three_groups_fit_on_one_sheet():
    assert len(sheets_of(card_of(groups=3, columns=3))) == 1


def test_a_group_longer_than_a_sheet_goes_on_on_the_next():
    sheets = sheets_of(card_of(groups=1, columns=25))
    assert len(sheets) > 1
    assert "A (goes on)   Set power 0" in texts_of(figures(card_of(groups=1, columns=25))[1])


def test_too_many_shots_say_how_many_fit():
    card = card_of(groups=10, columns=10)
    with pytest.raises(
        InputError, match=rf"at most {MOST_SHEETS} sheets, got 100 shots, of which 10 fit"
    ) as told:
        check_size(card)
    fit = int(re.search(r"and (\d+) on 6", str(told.value))[1])
    check_size(card_of(groups=fit // 10, columns=10))


@pytest.mark.parametrize(
    "card",
    [
        card_of(3, 3),
        crowded(),
        card_of(4, 5),
        card_of(1, 25),
        failed(card_of(3, 3), 4),
        card_of(12, 1, tissue=False),
    ],
    ids=["nine", "crowded", "twenty", "long", "failed", "without tissue"],
)
def test_nothing_on_paper_leaves_the_sheet_or_meets_the_footer(card):
    made = figures(card)
    assert len(made) == len(sheets_of(card))
    for figure in made:
        for text in (text for axes in figure.axes[:1] for text in axes.texts):
            box = text.get_window_extent().transformed(figure.axes[0].transData.inverted())
            # The screen's letters are fitted to pixels, which makes lines up to 1 % wider.
            assert box.x0 > MARGIN - 0.5, text.get_text()
            assert box.x1 < WIDTH - MARGIN + 2.0, text.get_text()
            last = HEIGHT - 4.0 if text.get_text().startswith(("spotdwell", "page")) else END
            assert max(box.y0, box.y1) < last, text.get_text()


def test_cautions_come_first_and_in_type_as_large_as_the_table():
    (figure,) = figures(card_of())
    texts = {text.get_text().strip(): text for text in figure.axes[0].texts}
    for word, _ in words.cautions(card_of()):
        assert texts[word].get_size() >= 9.0
        assert texts[word].get_position()[1] < texts["Set (bold: change it)"].get_position()[1]
    page = html(card_of())
    assert page.index(words.HEAD) < page.index("<table")


def test_cautions_name_the_wavelength_the_standards_and_the_vapour_of_acrylic():
    told = " ".join(f"{head} {text}" for head, text in words.cautions(card_of()))
    for word in ("10.6 µm", "IEC 60825-1", "ANSI Z136.3", "local rules", "extinguisher", "wet", "extract"):
        assert word in told
    assert "Acrylic" not in told
    acrylic = replace(card_of(), bench=replace(APPLE, name="pmma", title="Acrylic (PMMA)"))
    assert "vapour" in dict(words.cautions(acrylic))["Smoke"]


def test_a_failed_shot_is_printed_with_its_reason_and_its_blanks():
    card = failed(card_of(), 1)
    page, texts = html(card), " ".join(texts_of(figures(card)[0]))
    for printed in (page, texts):
        assert words.NO_PREDICTION in printed
        assert f"No prediction on apple for shot 2: {REASON}." in printed
    assert len(re.findall(r"<td[^>]*></td>", page)) == 4 * 6
    assert card.failures == (f"Apple, 5 W, 20 ms, 0.8 mm: {REASON}",)


def test_what_changes_from_shot_to_shot_is_bold():
    card = card_of(groups=2, columns=2)
    found = [words.changed(card, card.shots, at) for at in range(4)]
    assert found == [{"power", "dwell", "spot"}, {"dwell"}, {"power", "dwell"}, {"dwell"}]
    # On a later sheet the shot before it is on the sheet before.
    assert words.changed(card, card.shots[2:], 0) == {"power", "dwell"}


def test_comparison_gives_both_depths_and_their_ratio():
    card = card_of()
    card = replace(card, on_tissue=tuple(mark(depth=0.1e-3) for _ in card.marks))
    cells = words.compare_cells(card, 0)
    assert cells[:4] == ("5 W, 10 ms, 0.8 mm", "400 µm", "100 µm", "× 0.25")
    assert len(cells) == sum(len(names) for _, names in words.compare_heads(card))
    assert "A depth in apple is not a depth in tissue" in words.compare_title(card)
    assert cells[6:8] == (ABSENT, ABSENT)  # no coagulation is modelled in either


def test_deep_holes_are_marked_as_doubtful():
    card = card_of()
    deep = replace(card, marks=(mark(depth=1.7e-3), *card.marks[1:]))
    assert any(line.startswith("* Deeper") for line in words.notes(deep, deep.shots))
    assert not any(line.startswith("*") for line in words.notes(card, card.shots))
    assert words.mark_cells(deep.marks[0])[1] == ("1.70 mm", "deep hole*")


@pytest.mark.parametrize("where", ["marks", "on_tissue"])
def test_what_unverified_means_is_told_where_the_card_says_it(where):
    card = card_of()
    first = replace(card.marks[0], word=str(Word.UNVERIFIED))
    unsure = replace(card, **{where: (first, *getattr(card, where)[1:])})
    assert any(line.startswith("Unverified: ") for line in words.notes(unsure, unsure.shots))
    assert not any(line.startswith("Unverified: ") for line in words.notes(unsure, unsure.shots[1:]))
    assert not any(line.startswith("Unverified: ") for line in words.notes(card, card.shots))


def test_page_and_paper_say_the_same(tmp_path):
    card = card_of(groups=3, columns=3)
    page, texts = html(card), texts_of(figures(card)[0])
    for shot in card.shots:
        setting = card.settings[shot.setting].texts.values()
        for cell in (str(shot.number), card.place(shot), *setting):
            assert cell in texts
            assert cell in page
    for line in words.notes(card, card.shots):
        assert line in page


def test_page_needs_nothing_from_elsewhere_and_escapes_titles():
    page = html(card_of(title="<Bench> & co"))
    assert "&lt;Bench&gt; &amp; co" in page
    assert "http" not in page
    assert "src=" not in page


def test_files_are_whole_and_the_same_every_time(tmp_path):
    card = card_of(groups=4, columns=5)
    for kind in ("pdf", "html", "csv"):
        for name in ("one", "two"):
            getattr(card, f"write_{kind}")(tmp_path / f"{name}.{kind}")
        first, second = ((tmp_path / f"{name}.{kind}").read_bytes() for name in ("one", "two"))
        assert first == second
    assert (tmp_path / "one.pdf").read_bytes().count(b"/Type /Page ") == len(sheets_of(card))
    assert sorted(path.suffix for path in tmp_path.iterdir()) == sorted([".pdf", ".html", ".csv"] * 2)


@pytest.mark.parametrize("kind", ["pdf", "html", "csv"])
def test_a_folder_that_is_not_there_is_told(tmp_path, kind):
    with pytest.raises(RunError, match="there is no folder"):
        getattr(card_of(), f"write_{kind}")(tmp_path / "none" / f"card.{kind}")


def test_table_has_a_line_for_each_shot_with_blanks_to_fill_in(tmp_path):
    card_of(groups=2, columns=2, repeat=2).write_csv(tmp_path / "shots.csv")
    lines = [line for line in (tmp_path / "shots.csv").read_text().splitlines() if not line.startswith("#")]
    head, *body = csv.reader(lines)
    assert head[:5] == ["power [W]", "dwell [ms]", "spot [mm]", "depth [um]", "width [um]"]
    assert [row[:3] for row in body[:3]] == [["5", "10", "0.8"], ["5", "10", "0.8"], ["5", "20", "0.8"]]
    assert all(cell == "" for row in body for cell in row[3:7])
    assert [row[7] for row in body] == ["A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4"]


def test_the_laser_s_file_stays_as_it_is_called():
    card = card_of(laser="my_$laser_2 um.toml")
    for said in (html(card), " ".join(texts_of(figures(card)[0]))):
        assert "my_$laser_2 um.toml, 10.6 µm" in said


def test_a_dial_position_stands_under_its_spot():
    card = card_of()
    card = replace(card, settings=tuple(replace(one, dial="(a)") for one in card.settings))
    said = texts_of(figures(card)[0])
    assert said.count("dial (a)") == len(card.shots)
    assert str(card.settings[0]) == "5 W, 10 ms, 0.8 mm (dial (a))"
