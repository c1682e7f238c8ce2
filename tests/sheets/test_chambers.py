import re
from xml.etree import ElementTree

import pytest

from combwright.comb.combs import Chamber, Comb
from combwright.comb.default_comb import default_comb
from combwright.sheets.chambers import chambers_svg
from combwright.sheets.look import PAPER

SVG = "{http://www.w3.org/2000/svg}"


def drawn(comb):
    return ElementTree.fromstring(chambers_svg(comb))


def boxes(comb):
    found = [r for r in drawn(comb).iter(f"{SVG}rect") if r.get("fill") == PAPER]
    return [(float(r.get("width")), float(r.get("height"))) for r in found]


@pytest.mark.parametrize("holes", [1, 4, 10, 16])
def test_lengths_and_widths_are_drawn_to_one_scale(holes):
    chambers = tuple(Chamber(80 - 4 * n, 3 + n, 5) for n in range(holes))
    scales = [
        side / mm
        for (wide, long), each in zip(boxes(Comb("C", chambers)), chambers, strict=True)
        for side, mm in ((wide, each.width_mm), (long, each.length_mm))
    ]
    assert max(scales) - min(scales) < 0.02  # drawn to a hundredth of a unit


def test_the_margins_line_lies_a_margin_from_the_end():
    comb = Comb("C", (Chamber(20, 5, 5),), end_margin_mm=2)
    ((_wide, long),) = boxes(comb)
    (box,) = [r for r in drawn(comb).iter(f"{SVG}rect") if r.get("fill") == PAPER]
    line = next(drawn(comb).iter(f"{SVG}path")).get("d")
    y = float(re.search(r"M[\d.]+ ([\d.]+)h", line)[1])
    assert y - float(box.get("y")) == pytest.approx(long / 10, abs=0.02)


def test_every_chamber_is_drawn_inside_the_picture_and_apart_from_the_next():
    for comb in (default_comb(), Comb("wide", (Chamber(80, 30, 5),) * 16)):
        width, height = map(float, drawn(comb).get("viewBox").split()[2:])
        end = 0.0
        for r in drawn(comb).iter(f"{SVG}rect"):
            x, y = float(r.get("x")), float(r.get("y"))
            assert 0 <= x <= x + float(r.get("width")) <= width
            assert 0 <= y <= y + float(r.get("height")) <= height
            if r.get("fill") == PAPER:
                assert x > end
                end = x + float(r.get("width"))


def test_measures_are_said_with_all_their_digits():
    comb = Comb("C", (Chamber(17.125, 4.6, 5.25),))
    assert "Hole 1: 17.125 mm long, 4.6 mm wide, 5.25 mm deep." in chambers_svg(comb)
    assert ">17.125<" in chambers_svg(comb)


def test_a_title_is_never_taken_for_markup():
    comb = Comb('<b a="1">&', (Chamber(17, 4, 5),))
    assert drawn(comb).find(f"{SVG}title").text == '<b a="1">&'
