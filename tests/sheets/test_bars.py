import itertools
import re
from xml.etree import ElementTree as ET

import pytest

from combwright.sheets.bars import Bar, bars_svg

SVG = "{http://www.w3.org/2000/svg}"


def drawn(*bars, tolerance=3.0):
    return ET.fromstring(bars_svg(bars, tolerance=tolerance, title="Take 1", about="Two & more"))


def of_class(svg, name):
    return [each for each in svg.iter() if name in each.get("class", "").split()]


def heights(svg, name):
    return [float(each.get("height")) for each in of_class(svg, name)]


def scale_of(svg):
    """Return zero's place and how many pixels a cent is, from the axis and its figures."""
    texts = [t for t in svg.iter(f"{SVG}text") if re.fullmatch(r"[+\u2212]?[0-9.]+", t.text)]
    at = {float(t.text.replace("\u2212", "-")): float(t.get("y")) - 4.5 for t in texts[:5]}
    most = max(at)
    return at[0.0], (at[-most] - at[most]) / (2 * most)


def test_a_bar_is_as_long_as_it_is_off_and_lies_on_its_side_of_zero():
    svg = drawn(Bar(1, "blow", 6.0, out=True), Bar(1, "draw", -2.0))
    zero, pixels = scale_of(svg)
    high, low = of_class(svg, "bar")
    assert heights(svg, "bar") == pytest.approx([6 * pixels, 2 * pixels], abs=0.02)
    assert float(high.get("y")) + float(high.get("height")) == pytest.approx(zero, abs=0.02)
    assert float(low.get("y")) == pytest.approx(zero, abs=0.02)


def test_the_band_is_as_wide_as_the_tolerance():
    svg = drawn(Bar(1, "blow", 0.0), tolerance=2.5)
    zero, pixels = scale_of(svg)
    [band] = of_class(svg, "band")
    assert float(band.get("y")) == pytest.approx(zero - 2.5 * pixels, abs=0.02)
    assert float(band.get("height")) == pytest.approx(5 * pixels, abs=0.02)


def test_whiskers_reach_as_far_as_it_is_unsure():
    svg = drawn(Bar(1, "blow", 4.0, half=1.5))
    zero, pixels = scale_of(svg)
    [whisker] = of_class(svg, "whisker")
    top, foot = (
        float(n) for n in re.match(r"M[\d.]+ ([\d.]+)V([\d.]+)", whisker.get("d")).groups()
    )
    assert [(zero - top) / pixels, (zero - foot) / pixels] == pytest.approx([5.5, 2.5], abs=0.02)


def test_out_of_tolerance_is_told_by_shape_and_the_wedge_points_to_zero():
    svg = drawn(Bar(1, "blow", 6.0, out=True), Bar(1, "draw", -6.0, out=True), Bar(2, "blow", 1.0))
    assert len(of_class(svg, "out")) == len(of_class(svg, "wedge")) == 2
    for wedge, sign in zip(of_class(svg, "wedge"), (1, -1), strict=True):
        foot, tip = (float(n) for n in re.findall(r"[ML][\d.]+ ([\d.]+)", wedge.get("d")))
        assert (tip - foot) * sign > 0


def test_what_was_not_heard_what_is_unsure_and_what_was_before_are_marked():
    odd = Bar(2, "blow", None, mark="⇄")
    svg = drawn(Bar(1, "blow", None), Bar(1, "draw", 1.0, unsure=True, before=-3.0), odd)
    assert [t.text for t in of_class(svg, "unheard")] == ["×", "⇄"]
    assert [t.text for t in of_class(svg, "unsure")] == ["?"]
    _, pixels = scale_of(svg)
    assert heights(svg, "before") == pytest.approx([3 * pixels], abs=0.02)
    assert len(of_class(svg, "bar")) == 1


def test_a_bar_beyond_the_picture_ends_at_its_edge():
    svg = drawn(Bar(1, "blow", 900.0, out=True), Bar(1, "draw", -900.0, out=True))
    size = [float(n) for n in svg.get("viewBox").split()]
    for bar in of_class(svg, "bar"):
        assert float(bar.get("y")) >= 0
        assert float(bar.get("y")) + float(bar.get("height")) <= size[3]


def test_bars_do_not_touch_and_holes_are_named():
    seats = [Bar(hole, breath, 1.0) for hole in range(1, 11) for breath in ("blow", "draw")]
    svg = drawn(*seats)
    edges = [(float(b.get("x")), float(b.get("width"))) for b in of_class(svg, "bar")]
    assert all(x + width < after for (x, width), (after, _) in itertools.pairwise(edges))
    assert [t.text for t in of_class(svg, "hole")] == [str(n) for n in range(1, 11)]
    assert edges[-1][0] + edges[-1][1] < float(svg.get("viewBox").split()[2])


def test_words_are_read_out_and_escaped():
    svg = drawn(Bar(1, "blow", 1.0))
    by_id = {each.get("id"): each.text for each in svg.iter() if each.get("id")}
    assert by_id[svg.get("aria-labelledby")] == "Take 1"
    assert by_id[svg.get("aria-describedby")] == "Two & more"


def test_nothing_at_all_is_still_a_picture():
    assert of_class(drawn(), "band")
