"""The picture of a ranking: shares are drawn as they are, told by pattern and word."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.comb.reach import Sound
from combwright.playing.matching import Hard, LayoutFit, TuneFit
from combwright.sheets import look
from combwright.sheets.ranking import ranking_svg
from combwright.sheets.ranking_pages import ranking_pdf
from combwright.sheets.shares import parts_of, percent
from combwright.tunes.tune import Tune, TuneNote
from sheets.examples import texts
from sheets.test_drawing import SVG, contrast, written

HARD = Hard(69, Sound(69, "bend", 3, "draw", 2), 512)
WORST = TuneFit(Tune("A & <b>air</b>", (TuneNote(60, 0, 9),) * 40, "x"), 0, 900, 12, 0, 1)
FIT = LayoutFit(
    "standard", 5000, 40, 70, 90, 4000, 184, 20, 3, (WORST,), "D", False,
    (HARD, Hard(90, None, 2)),
)  # fmt: skip


def fits(count=20):
    return [replace(FIT, name=f"layout-{n}", own=n == 17) for n in range(1, count + 1)]


def rows(root):
    return [g for g in root.iter(f"{SVG}g") if g.get("class", "").startswith("instrument")]


def bars(row):
    return {
        r.get("class").removeprefix("share "): float(r.get("width"))
        for r in row.iter(f"{SVG}rect")
        if r.get("class", "").startswith("share ")
    }


@pytest.mark.parametrize("narrow", [False, True])
def test_the_parts_of_a_bar_are_as_wide_as_their_shares(narrow):
    root = ET.fromstring(ranking_svg([FIT], 100, narrow=narrow))
    found = bars(rows(root)[0])
    whole = sum(found.values())
    assert {kind: round(100 * wide / whole) for kind, wide in found.items()} == {
        "natural": 40, "bends": 30, "overbends": 20, "not": 10,
    }  # fmt: skip


def test_parts_are_told_by_pattern_and_label_not_by_colour_alone():
    root = ET.fromstring(ranking_svg([FIT], 100))
    fills = {r.get("class"): (r.get("fill")[:8], r.get("stroke-dasharray"))
             for r in root.iter(f"{SVG}rect") if r.get("class")}  # fmt: skip
    assert fills["share natural"][0] == look.INK
    assert fills["share bends"][0] == "url(#hat"
    assert fills["share overbends"][0] == "url(#dot"
    assert fills["share not"] == (look.PAPER, "5 3")
    assert {"40 %", "30 %", "20 %", "10 %", "natural notes are enough", "not to be had"} <= set(
        written(root)
    )
    assert contrast(look.PAPER, look.INK) > 4.5


def test_a_row_says_its_place_its_name_its_bends_and_why():
    (row,) = rows(ET.fromstring(ranking_svg([FIT], 100)))
    told = written(row)
    assert told[:3] == ["1", "standard in D", "4.6 bends in 100 notes"]
    assert told[-1] == (
        "Costs most: A4 as -3'', 512 times; F#6 is not there, 2 times. "
        "Worst: A & <b>air</b> (1 missing)."
    )


def test_a_row_says_what_an_instrument_would_add_to_the_customers_own():
    for narrow in (False, True):
        (row,) = rows(ET.fromstring(ranking_svg([replace(FIT, easier=41)], 100, narrow=narrow)))
        assert any(text.startswith("41 tunes easier than on yours.") for text in written(row))


def test_the_first_are_drawn_and_the_customers_own_wherever_they_stand():
    root = ET.fromstring(ranking_svg(fits(), 100, most=12))
    found = rows(root)
    assert [written(row)[0] for row in found] == [str(n) for n in [*range(1, 13), 17]]
    assert ["yours" in written(row) for row in found] == [False] * 12 + [True]
    assert "7 instruments more stand below these." in written(root)
    assert (
        "17. layout-17 in D (yours): natural notes are enough 40 %" in root.find(f"{SVG}desc").text
    )


@pytest.mark.parametrize(("narrow", "width"), [(False, 1000), (True, 400)])
def test_everything_lies_within_the_picture(narrow, width):
    long = replace(FIT, name="x" * 300, own=True, worst=(WORST,) * 3, hardest=(HARD,) * 3)
    root = ET.fromstring(ranking_svg([long, *fits()], 100, narrow=narrow))
    height = float(root.get("viewBox").split()[3])
    for each in root.iter(f"{SVG}text"):
        size, wide = float(each.get("font-size")), len(each.text)
        room = {"start": width - float(each.get("x")), "end": float(each.get("x"))}
        assert 0 < float(each.get("y")) < height
        if each.get("text-anchor") in room:
            assert wide * size * 0.5 <= room[each.get("text-anchor")]


def test_two_pictures_on_a_page_share_no_ids():
    one, other = ranking_svg([FIT], 100), ranking_svg([FIT], 100, narrow=True)
    ids = [
        {each.get("id") for each in ET.fromstring(svg).iter() if each.get("id")}
        for svg in (one, other)
    ]
    assert not ids[0] & ids[1]
    assert "style" not in one


@given(st.lists(st.integers(0, 300), min_size=4, max_size=4).filter(any))
def test_parts_add_up_to_all_and_small_ones_never_read_as_nothing(parts):
    natural, bends, overbends, _ = parts
    tunes = sum(parts)
    with_bends = natural + bends
    assert list(parts_of(natural, with_bends, with_bends + overbends, tunes)) == parts
    for part in parts:
        assert (percent(part, tunes) == "0 %") == (part == 0)
        assert (percent(part, tunes) == "100 %") == (part == tunes)


def test_a_pdf_has_the_picture_and_every_instrument_in_its_place():
    picture, *table = texts(ranking_pdf(fits(60), 100, as_written=True))
    assert "How much of 100 tunes each instrument plays" in picture
    told = " ".join(table)
    assert all(f"{n} layout-{n} in D" in told for n in range(1, 61))
    assert "17 layout-17 in D yours 40.0% 70.0% 90.0% 4.60 50.0" in told
    assert "A & <b>air</b>: 12 bent, 1 missing of 40 notes" in told
    assert "A4 as -3'', 512 times" in told
