"""In a notebook a result shows its section and its table by itself."""

from __future__ import annotations

import base64
import dataclasses
import io
import re

from PIL import Image

from spotdwell.base.units import convert


def test_a_result_shows_its_section_and_every_measure_that_applies(make):
    result = make()
    html = result._repr_html_()
    picture = re.search(r'src="data:image/png;base64,([^"]+)"', html)
    drawn = Image.open(io.BytesIO(base64.b64decode(picture[1]))).convert("L")
    assert drawn.width > 600 and drawn.getextrema()[0] < 60
    depth = convert(result.measures["crater_depth"], "m", "um")
    assert f"{depth:.3g} µm" in html
    assert html.count("<tr>") == sum(value is not None for value in result.measures.values())
    assert f"<strong>{result.verdict.word}</strong>" in html
    assert "no ground for a treatment decision" in html
    assert f"; {result.verdict.word}" in re.search(r'alt="([^"]+)"', html)[1]


def test_foreign_text_stays_text(make):
    html = dataclasses.replace(make(), notes=('<script>alert("1")</script> & more',))._repr_html_()
    assert "<script" not in html and "&lt;script&gt;" in html
