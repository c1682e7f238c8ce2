from collections import Counter
from dataclasses import replace

from combwright.comb.combs import Chamber, Comb
from combwright.sheets.from_plan import comb_of, sheets_of
from sheets.examples import COMB, plan_of, served, standard_wants, stock_of, waiting


def sheets(*orders):
    ready = [order for order in orders if order.ready]
    return sheets_of(plan_of(*orders), stock_of(*ready), COMB)


def kit():
    return [("5 draw", standard_wants()[9])] * 2


def test_every_plate_of_the_ready_orders_is_picked_once():
    orders = [served("W-1", copies=2, kit=kit()), served("W-2", row=3)]
    found = sheets(*orders)
    wanted = Counter(
        each.bin
        for order in orders
        for made in order.made
        for each in (*made.seats, *(k.placed for k in made.kit))
    )
    assert {pick.bin: pick.count for pick in found.picks} == dict(wanted)
    assert sum(wanted.values()) == 20 * 3 + 2 * 2


def test_an_order_that_waits_is_nowhere_on_the_sheets():
    found = sheets(served("W-1"), waiting("W-2"))
    assert [sheet.order for sheet in found.orders] == ["W-1"]
    assert {use.order for pick in found.picks for use in pick.uses} == {"W-1"}
    assert {label.code for label in found.order_labels} == {"W-1"}


def test_a_pick_says_which_seats_it_is_for():
    (pick,) = (p for p in sheets(served("W-1", kit=kit())).picks if p.midi == 77)
    assert [use.places for use in pick.uses] == [("5 draw", "kit 5 draw", "kit 5 draw")]


def test_one_bin_serves_equal_notes_of_two_holes():
    # Common practice, no source: 2 draw and 3 blow of the standard layout are the same note; they
    # come from two bins here since the example stocks blow and draw plates apart.
    found = {p.bin: p.uses[0].places for p in sheets(served("W-1")).picks if p.midi == 67}
    assert found == {"A-67": ("3 blow",), "B-67": ("2 draw",)}


def test_parts_are_summed_over_all_copies():
    found = sheets(served("W-1", copies=2), served("W-2"))
    assert {part.name: part.count for part in found.parts} == {"cover": 6, "screw": 12}


def test_only_bins_to_pick_from_get_a_label_and_in_walking_order():
    order = served("W-1", wants=standard_wants()[:2])
    stock = stock_of(served("W-9"))
    found = sheets_of(plan_of(order), stock, COMB)
    assert [label.code for label in found.bin_labels] == ["A-60", "B-62"]


def test_every_copy_gets_a_label_with_its_orders_number():
    found = sheets(served("W-1", copies=2, kit=kit()))
    assert [label.code for label in found.order_labels] == ["W-1", "W-1"]
    assert "row 1, copy 2" in found.order_labels[1].lines
    assert "kit: 2 plates" in found.order_labels[1].lines
    assert found.order_labels[0].headline == "due 2026-05-04"


def test_the_wish_heads_its_rows():
    found = sheets(served("W-1", row=4, title="Key of A, standard layout"))
    assert found.orders[0].copies[0].wish == "Key of A, standard layout"


def test_a_copy_of_an_order_in_parts_is_told_from_its_sisters():
    parts = [served("W-1", split=True, row=1), served("W-1", split=True, row=2)]
    found = sheets(*parts)
    assert [sheet.part for sheet in found.orders] == [
        "row 1, copy 1, ships alone",
        "row 2, copy 1, ships alone",
    ]
    assert {use.copy for pick in found.picks for use in pick.uses} == {
        "row 1 copy 1",
        "row 2 copy 1",
    }


def test_seats_are_listed_hole_by_hole_whatever_the_plans_order():
    order = served("W-1")
    shuffled = replace(order.made[0], seats=order.made[0].seats[::-1])
    found = sheets(replace(order, made=(shuffled,)))
    places = [(s.placed.want.hole, s.placed.want.deck) for s in found.orders[0].copies[0].seats]
    assert places == [(hole, deck) for hole in range(1, 11) for deck in ("upper", "lower")]


def test_the_comb_of_a_design_is_used_when_it_names_one():
    other = Comb("Other", COMB.chambers, COMB.end_margin_mm)
    found = sheets(served("W-1", comb=other))
    assert found.orders[0].copies[0].comb.title == "Other"


def test_a_comb_is_drawn_up_when_the_wants_do_not_fit_the_usual_one():
    twelve = Comb("Twelve", tuple(Chamber(30.0 - n, 5, 4) for n in range(12)))
    wants = [
        replace(w, hole=w.hole + 2, takes_mm=twelve.takes_mm(w.hole + 2)) for w in standard_wants()
    ]
    found = comb_of(wants, COMB)
    assert found.holes == 12
    assert [found.takes_mm(hole) for hole in (1, 3, 12)] == [28.0, 28.0, 19.0]
    assert comb_of(standard_wants(), COMB) is COMB
