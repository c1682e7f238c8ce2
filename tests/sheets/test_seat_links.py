"""A drawing whose seats lead somewhere, and the retunes that stand in it."""

import xml.etree.ElementTree as ET
from itertools import pairwise

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.default_comb import default_comb
from combwright.sheets.drawing import comb_svg
from combwright.sheets.plates import plates_of_layout
from combwright.sheets.seat_links import SeatLink

SVG = "{http://www.w3.org/2000/svg}"
PLATES = plates_of_layout(catalogue_layout("standard"))
PLACES = [(hole, deck) for hole in range(1, 11) for deck in ("upper", "lower")]


def drawn(**options):
    return ET.fromstring(comb_svg(default_comb(), PLATES, **options))


def links(current=None):
    return {
        place: SeatLink(f"?seat={place[0]}-{place[1]}", f"{place} & <more>", place == current)
        for place in PLACES
    }


def test_each_seat_is_a_link_with_its_words_and_one_of_them_is_current():
    picture = drawn(links=links((5, "lower")))
    found = picture.findall(f".//{SVG}a")
    assert [each.get("href") for each in found] == [f"?seat={h}-{d}" for h, d in PLACES]
    assert found[0].get("aria-label") == "(1, 'upper') & <more>"
    assert [each.get("id") for each in found if each.get("aria-current")] == ["seat-5-lower"]


def test_a_drawing_with_links_is_read_as_a_group_and_not_as_one_picture():
    assert drawn().get("role") == "img"
    assert drawn(links=links()).get("role") == "group"


def test_the_ground_that_can_be_touched_holds_the_plate_and_reaches_no_neighbour():
    grounds = [
        (float(each.get("x")), float(each.get("x")) + float(each.get("width")))
        for each in drawn(links=links()).iter(f"{SVG}rect")
        if each.get("class") == "ground"
    ]
    uppers = grounds[::2]
    assert all(left[1] <= right[0] for left, right in pairwise(uppers))
    plates = [each for each in drawn().iter(f"{SVG}rect") if each.get("class") == "plate"]
    assert all(
        low <= float(plate.get("x")) and float(plate.get("x")) + float(plate.get("width")) <= high
        for plate, (low, high) in zip(plates, grounds, strict=True)
    )


def test_a_retune_is_a_wedge_up_or_down_with_its_cents_and_the_legend_says_so():
    picture = drawn(retunes={(1, "upper"): 90.6, (2, "lower"): -12.0})
    marks = {
        each.get("class"): each.findtext(f"{SVG}text")
        for each in picture.iter(f"{SVG}g")
        if (each.get("class") or "").startswith("retune")
    }
    assert marks == {"retune up": "91c", "retune down": "12c"}
    texts = [each.text for each in picture.iter(f"{SVG}text")]
    assert "wedge: to retune, in cents" in texts
    assert "wedge: to retune, in cents" not in [t.text for t in drawn().iter(f"{SVG}text")]


def test_the_framed_seats_tag_says_the_word_it_was_given():
    picture = drawn(next_seat=(3, "upper"), next_word="chosen")
    texts = [each.text for each in picture.iter(f"{SVG}text")]
    assert {"chosen", "frame: chosen seat"} <= set(texts)
    assert "next" not in texts
