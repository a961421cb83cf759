"""The verb `validate` as it is typed."""

import pytest

from spotdwell.base.cautions import CSV_LINE, SAFETY

SHOTS = "power [W],dwell [ms],spot [mm],depth [um],depth error [um]\n"
SHOTS += "12,2,0.4,210,9\n16,2,0.4,290,9\n20,2,0.4,375,9\n"
COARSE = ("--on", "soft_tissue", "--refinement", "0.4", "--workers", "1")


@pytest.fixture
def shots(tmp_path):
    path = tmp_path / "shots.csv"
    path.write_text(SHOTS)
    return path


@pytest.mark.compiled
def test_a_validation_is_shown_drawn_and_kept(call, shots, tmp_path):
    picture, table = tmp_path / "validation.svg", tmp_path / "validation.csv"
    answer = call("validate", shots, *COARSE, "--picture", picture, "--table", table, "--units", "mm")
    assert answer.code == 0, answer.err
    said = " ".join(answer.out.split())
    for wanted in (
        "Bias",
        "Spread",
        "Within 2 stated errors",
        "Nothing was fitted",
        "0.210 mm",
        "Lasers burn",
    ):
        assert wanted in said, wanted
    drawn = picture.read_text()
    assert "measured depth" in drawn and "computed depth" in drawn and "stated errors" in drawn
    text = table.read_text()
    assert text.startswith(CSV_LINE) and "depth [mm]" in text and len(text.splitlines()) == 5
    found = call("validate", shots, *COARSE, "--json").json
    assert found["caution"] == SAFETY and found["fitted"] == [] and found["units"]["depth"] == "m"
    assert [one["depth"] for one in found["shots"]] == pytest.approx([2.1e-4, 2.9e-4, 3.75e-4])
    assert found["coverage"][1]["of"] == 3


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("--picture", "fit.gif"), "--picture: "),
        (("--table", "x.txt"), "--table: "),
        (("--workers", "0"), "--workers: "),
    ],
)
def test_what_is_wrong_is_named(call, shots, arguments, named):
    answer = call("validate", shots, *COARSE, *arguments)
    assert (answer.code, answer.out) == (2, "") and named in answer.err
