import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.combs import Chamber, Comb
from combwright.comb.seats import NoSuchHole
from combwright.sheets import look
from combwright.sheets.bad_sheet import BadSheet
from combwright.sheets.drawing import comb_svg
from combwright.sheets.plates import DrawnPlate, bends_of_plates, plates_of_layout
from sheets.examples import COMB

SVG = "{http://www.w3.org/2000/svg}"


def drawn(plates, comb=COMB, **options):
    return ET.fromstring(comb_svg(comb, plates, **options))


def seat(root, hole, deck):
    (found,) = root.findall(f".//{SVG}g[@class='seat {deck}'][@data-hole='{hole}']")
    return found


def marks(element, kind):
    return element.findall(f".//*[@class='{kind}']")


def written(element):
    return [text.text for text in element.iter(f"{SVG}text")]


def box(rectangle):
    return [float(rectangle.get(side)) for side in ("x", "y", "width", "height")]


def lightness(colour):
    """WCAG 2.2, "relative luminance" and "contrast ratio" (docs/sources.md, [wcag-22])."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(share * p for share, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    low, high = sorted((lightness(one), lightness(other)))
    return (high + 0.05) / (low + 0.05)


def standard():
    plates = plates_of_layout(catalogue_layout("standard"))
    mounts = {"in": "front", "out": "rear"}
    return [replace(p, mount=mounts[p.facing], slot_mm=COMB.takes_mm(p.hole)) for p in plates]


def test_a_drawing_is_valid_xml_with_a_name_and_a_description():
    root = drawn(standard(), title="Order W-017")
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    title, about = list(root)[:2]
    assert (title.tag, title.text) == (f"{SVG}title", "Order W-017")
    assert about.tag == f"{SVG}desc"
    assert root.get("aria-labelledby").split() == [title.get("id"), about.get("id")]


def test_the_description_says_every_seat_in_words():
    plates = [
        DrawnPlate(1, "upper", "in", 60, 0, "front", 20.0),
        DrawnPlate(1, "lower", "out", 63, -13.7, "rear", 20.0),
        DrawnPlate(2, "lower", "out", 66, state="missing"),
    ]
    comb = replace(COMB, title="Two", chambers=COMB.chambers[:2])
    root = drawn(plates, comb, bends={(1, "lower"): 2}, next_seat=(1, "upper"))
    assert root.find(f"{SVG}desc").text == (
        "The comb Two from the front, its 2 holes from left to right, with its upper and its "
        "lower deck. "
        "Hole 1: upper deck C4, blow, facing in, riveted at the front, the next seat; "
        "lower deck D#4 -13.7 cents, draw, facing out, riveted at the rear, bends 2 semitones. "
        "Hole 2: upper deck empty; lower deck F#4, draw, facing out, plate missing."
    )


def test_every_note_and_hole_number_is_written():
    root = drawn(standard())
    for plate in standard():
        assert plate.note in written(seat(root, plate.hole, plate.deck))
    assert {str(hole) for hole in range(1, 11)} <= set(written(root))


def test_facing_in_is_filled_and_facing_out_is_outlined():
    root = drawn(standard())
    (filled,) = marks(seat(root, 1, "upper"), "tongue-in")
    (outlined,) = marks(seat(root, 1, "lower"), "tongue-out")
    assert contrast(filled.get("fill"), look.PLATE) > 7
    assert contrast(outlined.get("fill"), outlined.get("stroke")) > 7


def test_a_chamber_with_two_draw_reeds_shows_both_outlined():
    two = [
        DrawnPlate(3, "upper", "out", 67, 0, "front", 20),
        DrawnPlate(3, "lower", "out", 71, 0, "rear", 20),
    ]
    root = drawn(two)
    assert len(marks(root, "tongue-out")) == 2
    assert not marks(root, "tongue-in")
    assert bends_of_plates(two) == {}


def test_no_state_is_told_by_colour_alone():
    plates = [replace(p, state="missing") if p.hole == 9 else p for p in standard()[:-1]]
    root = drawn(plates, next_seat=(5, "lower"))
    missing, following, empty = (
        seat(root, 9, "upper"),
        seat(root, 5, "lower"),
        seat(root, 10, "lower"),
    )
    assert "missing" in written(missing)
    assert marks(missing, "missing")[0].get("stroke-dasharray")
    assert "next" in written(following)
    assert float(marks(following, "next")[0].get("stroke-width")) > 2
    assert "empty" in written(empty)
    assert marks(empty, "empty")[0].get("stroke-dasharray")
    legend = " ".join(written(marks(root, "legend")[0]))
    for word in ("filled", "outlined", "rivet", "next", "missing", "empty"):
        assert word in legend


def test_the_legend_names_only_what_is_shown():
    words = " ".join(written(marks(drawn(standard()), "legend")[0]))
    assert "filled" in words
    assert "missing" not in words
    assert "next" not in words
    assert not marks(drawn(standard(), with_legend=False), "legend")


@pytest.mark.parametrize("deck", ["upper", "lower"])
def test_the_rivet_lies_at_the_mounted_end(deck):
    # The decks are folded open, so front ends lie towards the comb's front in the middle.
    def distance(mount):
        root = drawn([DrawnPlate(1, deck, "in", 60, 0, mount, 25.0)])
        (rivet,) = marks(root, f"rivet-{mount}")
        (bar,) = (r for r in root.iter(f"{SVG}rect") if r.get("fill") == look.COMB)
        return abs(float(rivet.get("cy")) - box(bar)[1] - box(bar)[3] / 2)

    assert distance("front") < distance("rear")


def test_a_plate_with_no_mount_yet_has_no_rivet():
    root = drawn([DrawnPlate(1, "upper", "in", 60)])
    assert not [e for e in root.iter() if (e.get("class") or "").startswith("rivet")]
    assert marks(root, "tongue-in")


@given(lengths=st.lists(st.floats(8, 40), min_size=2, max_size=16))
@settings(max_examples=30, deadline=None)
def test_plates_are_drawn_in_proportion_to_their_slots(lengths):
    comb = Comb("Any", tuple(Chamber(length, 5, 4) for length in lengths))
    plates = [DrawnPlate(n, "upper", "in", 60, 0, "front", s) for n, s in enumerate(lengths, 1)]
    root = drawn(plates, comb)
    heights = [
        box(marks(seat(root, n, "upper"), "plate")[0])[3] for n in range(1, len(lengths) + 1)
    ]
    scale = max(heights) / max(lengths)
    assert heights == pytest.approx([scale * length for length in lengths], abs=0.006)


def test_the_standard_layout_shows_the_bends_of_the_published_table():
    # Derived from [oeis-a291810] by the rule of [bahnson-1998] (docs/sources.md): draw bends of
    # 1, 2, 3, 1 and 1 semitones in holes 1, 2, 3, 4 and 6, blow bends in 8, 9 and 10.
    expected = {
        (1, "lower"): 1, (2, "lower"): 2, (3, "lower"): 3, (4, "lower"): 1, (6, "lower"): 1,
        (8, "upper"): 1, (9, "upper"): 1, (10, "upper"): 2,
    }  # fmt: skip
    plates = standard()
    assert bends_of_plates(plates) == expected
    root = drawn(plates, bends=expected)
    for plate in plates:
        stairs = [
            path.get("d")
            for group in seat(root, plate.hole, plate.deck).findall(f"{SVG}g")
            if "stair" in group.get("class")
            for path in group
        ]
        steps = [len(re.findall("h[0-9.]+v", d)) for d in stairs]
        wanted = expected.get((plate.hole, plate.deck))
        assert steps == ([] if wanted is None else [wanted])


def test_a_pitch_standard_changes_no_bend():
    low = [
        replace(plate, cents=plate.cents - 50.4 + 0.5 * (plate.hole % 3)) for plate in standard()
    ]
    assert bends_of_plates(low) == bends_of_plates(standard())


@pytest.mark.parametrize("holes", [1, 2, 10, 16])
@pytest.mark.parametrize("steps", [1, 3, 14])
def test_everything_stays_on_the_paper(holes, steps):
    comb = Comb("Any", tuple(Chamber(34 - 1.5 * n, 5, 4) for n in range(holes)))
    decks = ("upper", "lower")
    plates = [DrawnPlate(n, d, "out", 61, 3.0, "rear") for n in range(1, holes + 1) for d in decks]
    bends = {(plate.hole, plate.deck): steps for plate in plates}
    root = drawn(plates, comb, bends=bends, next_seat=(holes, "upper"))
    _, _, width, height = map(float, root.get("viewBox").split())
    for rectangle in root.iter(f"{SVG}rect"):
        x, y, wide, high = box(rectangle)
        assert min(x, y) >= 0
        assert x + wide <= width
        assert y + high <= height
    for text in root.iter(f"{SVG}text"):
        assert 0 < float(text.get("x")) < width
        assert 10 < float(text.get("y")) < height


def test_neighbouring_plates_leave_room_for_the_stair_between_them():
    comb = Comb("Any", tuple(Chamber(20, 5, 4) for _ in range(16)))
    plates = [DrawnPlate(n, "upper", "in", 60, 0, "front") for n in range(1, 17)]
    root = drawn(plates, comb, bends={(1, "upper"): 9})
    first, second = (box(marks(seat(root, n, "upper"), "plate")[0]) for n in (1, 2))
    (path,) = (e for e in seat(root, 1, "upper").iter(f"{SVG}path") if e.get("fill") == look.BRASS)
    treads = [float(t) for t in re.findall(r"h([0-9.]+)v", path.get("d"))]
    start = float(re.match(r"M([0-9.]+)", path.get("d"))[1])
    assert first[0] + first[2] < start
    assert start + sum(treads) < second[0]


@pytest.mark.parametrize("odd", ['<b>&"quoted"</b>', "a]]>b", "tab\there", "ümlaut 日本 😀"])
def test_odd_names_are_escaped_and_come_back_whole(odd):
    root = drawn(standard(), replace(COMB, title=odd), title=odd)
    assert root.find(f"{SVG}title").text == odd
    assert odd in root.find(f"{SVG}desc").text


@pytest.mark.parametrize("forbidden", ["\x00", "\x0b", "\x1b", "\ufffe", "\ud800"])
def test_characters_that_xml_forbids_are_replaced(forbidden):
    root = drawn(standard(), title=f"a{forbidden}b")
    assert root.find(f"{SVG}title").text == "a\ufffdb"


def test_the_width_may_be_given_and_keeps_the_proportions():
    root = drawn(standard(), width=500)
    _, _, width, height = map(float, root.get("viewBox").split())
    assert float(root.get("width")) == 500
    assert float(root.get("height")) == pytest.approx(500 * height / width, abs=0.01)


def test_two_drawings_share_no_ids_and_one_drawing_never_changes():
    one, other = comb_svg(COMB, standard()), comb_svg(COMB, standard()[1:])
    ids = [set(re.findall(r'id="([^"]+)"', svg)) for svg in (one, other)]
    assert not ids[0] & ids[1]
    assert one == comb_svg(COMB, standard())


def test_two_plates_in_one_seat_are_refused():
    twice = [DrawnPlate(5, "lower", "out", 77), DrawnPlate(5, "lower", "out", 78)]
    with pytest.raises(BadSheet, match="Two plates to draw in seat 5 lower"):
        comb_svg(COMB, twice)


def test_a_plate_or_next_seat_beyond_the_comb_is_refused():
    with pytest.raises(NoSuchHole, match="no hole 11: holes run from 1 to 10"):
        comb_svg(COMB, [DrawnPlate(11, "upper", "in", 60)])
    with pytest.raises(NoSuchHole, match="no hole 0"):
        comb_svg(COMB, [], next_seat=(0, "upper"))


@pytest.mark.parametrize("slot_mm", [0.0, -2.0, float("nan")])
def test_a_slot_without_a_length_is_refused(slot_mm):
    with pytest.raises(BadSheet, match=r"seat 1 upper has a slot of .* give more than 0"):
        comb_svg(COMB, [DrawnPlate(1, "upper", "in", 60, 0, "front", slot_mm)])


@pytest.mark.parametrize("colour", [look.INK, look.NEXT, look.WRONG, look.QUIET])
def test_colours_of_text_reach_the_contrast_of_wcag(colour):
    # WCAG 2.2, success criterion 1.4.3 (docs/sources.md, [wcag-22]).
    for ground in (look.PAPER, look.PLATE):
        assert contrast(colour, ground) >= 4.5


def test_brass_reaches_the_contrast_of_graphics():
    # WCAG 2.2, success criterion 1.4.11: 3 to 1 (docs/sources.md, [wcag-22]).
    for ground in (look.PAPER, look.PLATE):
        assert contrast(look.BRASS, ground) >= 3


def test_seats_may_be_framed_with_words_of_their_own_beside_the_next_one():
    root = drawn(standard(), framed={(3, "upper"): "was G4", (5, "lower"): "was F5"},
                 next_seat=(1, "upper"), next_word="swapped")  # fmt: skip
    for place, word in (
        ((3, "upper"), "was G4"),
        ((5, "lower"), "was F5"),
        ((1, "upper"), "swapped"),
    ):
        assert marks(seat(root, *place), "next")
        assert word in written(seat(root, *place))
    assert not marks(seat(root, 2, "upper"), "next")
    assert "framed: was G4" in root.find(f"{SVG}desc").text
