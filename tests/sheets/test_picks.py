import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.allocation.workshop import Workshop
from combwright.sheets.picks import PartPick, Pick, PickUse, in_walking_order, pick_list_pdf
from combwright.sheets.walk import aisle_of
from sheets.examples import pictures, texts


def pick(walk, code=None, *, places=("1 blow",), order="W-1", arrives=None, midi=60):
    use = PickUse(order, "", places)
    return Pick(code or walk, walk, midi, "lot 7", "front", 14.2, (use,), arrives)


def page_text(picks, **options):
    return " ".join(texts(pick_list_pdf(picks, workshop=Workshop(), **options)))


def test_the_walk_is_sorted_as_people_count():
    walks = ["B-1", "A-10", "A-9", "a-2", "A-9-11", "A-9-2"]
    ordered = [p.walk for p in in_walking_order([pick(walk) for walk in walks])]
    assert ordered == ["a-2", "A-9", "A-9-2", "A-9-11", "A-10", "B-1"]


def test_bins_at_one_place_of_the_walk_are_sorted_by_name():
    picks = [pick("A-1", "x10"), pick("A-1", "x9")]
    assert [p.bin for p in in_walking_order(picks)] == ["x9", "x10"]


def test_bins_without_a_place_come_after_the_walk_and_unarrived_ones_last():
    picks = [pick("A-1", "late", arrives=date(2026, 5, 4)), pick("", "loose"), pick("Z-9", "far")]
    assert [p.bin for p in in_walking_order(picks)] == ["far", "loose", "late"]


@given(numbers=st.lists(st.integers(0, 10**6), unique=True, min_size=2))
def test_numbers_in_the_walk_sort_by_value(numbers):
    ordered = in_walking_order([pick(f"A-{number}") for number in numbers])
    assert [int(p.walk[2:]) for p in ordered] == sorted(numbers)


@pytest.mark.parametrize(
    ("walk", "aisle"),
    [
        ("A-9", "A"),
        ("B12", "B"),
        ("North 3", "North"),
        ("2-14", "2"),
        ("7", ""),
        ("", ""),
        ("top", ""),
    ],
)
def test_the_aisle_is_the_prefix_of_the_walk(walk, aisle):
    assert aisle_of(walk) == aisle


def test_the_pick_list_is_printed_in_walking_order_by_aisle():
    text = page_text([pick("B-1"), pick("A-10"), pick("A-9")])
    order = ["Aisle A", "A-9", "A-10", "Aisle B", "B-1"]
    places = [text.index(word) for word in order]
    assert places == sorted(places)


def test_a_row_says_what_to_take_and_for_whom():
    uses = (
        PickUse("W-17", "", ("5 draw", "kit 5 draw")),
        PickUse("W-18", "row 2 copy 1", ("8 blow",)),
    )
    text = page_text([Pick("A-3", "A-3", 77, "lot 7", "rear", 21.85, uses)])
    assert "F5" in text
    assert "batch lot 7" in text
    assert "rear mount, slot 21.85 mm" in text
    assert "W-17 ×2: 5 draw, kit 5 draw" in text
    assert "W-18 row 2 copy 1: 8 blow" in text
    assert "3 plates from 1 bin for 2 orders" in text


def test_the_running_total_adds_up():
    text = page_text([pick("A-1", places=("1 blow",) * 4), pick("A-2", places=("2 blow",) * 7)])
    assert re.search(r"A-1 C4 .* 4 .*W-1 ×4.*? 4 A-2", text)
    assert re.search(r"A-2 C4 .* 7 .*W-1 ×7.*? 11\b", text)


def test_a_long_list_repeats_its_head_and_numbers_its_pages():
    pages = texts(pick_list_pdf([pick(f"A-{n}") for n in range(120)], workshop=Workshop()))
    assert len(pages) > 2
    for number, page in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in page
        assert "Aisle A" in page
        assert "so far" in page


def test_plates_still_to_arrive_stand_apart_with_their_day():
    text = page_text([pick("A-1"), pick("B-1", arrives=date(2026, 5, 4))])
    assert (
        text.index("A-1")
        < text.index("Not in the rack yet: arrives 2026-05-04")
        < text.index("B-1")
    )


def test_bins_off_the_aisles_do_not_pass_for_the_last_aisle():
    text = page_text([pick("A-1"), pick("", "loose")])
    assert text.index("Aisle A") < text.index("Elsewhere") < text.index("loose")


def test_parts_follow_the_plates():
    text = page_text([pick("A-1")], parts=[PartPick("cover", 16)])
    assert re.search(r"A-1 .*Parts .*cover 16", text)


def test_a_list_of_nothing_says_so():
    assert "Nothing to pick" in page_text([])


def test_the_day_of_the_plan_is_printed_when_given():
    assert "plan of 2026-03-01" in page_text([pick("A-1")], on=date(2026, 3, 1))


def test_the_paper_is_the_workshops():
    for paper, (width, height) in {"A4": (210, 297), "letter": (215.9, 279.4)}.items():
        (page,) = pictures(pick_list_pdf([pick("A-1")], workshop=Workshop(paper=paper)), dpi=25.4)
        assert page.shape == pytest.approx((height, width), abs=1)


def test_a_bin_that_serves_very_many_trays_may_break_over_pages():
    uses = tuple(PickUse(f"W-{n:04d}", "", ("1 blow",)) for n in range(400))
    text = page_text([Pick("A-1", "A-1", 60, "lot", "front", 14.0, uses)])
    assert re.findall(r"W-\d{4}", text) == [use.order for use in uses]
