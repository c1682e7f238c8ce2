"""Can this wish be built now? Against matching and assignment by brute force."""

from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest

from allocation.instances import NO_FILING, bin_at, drawn, wants_at
from allocation.oracle import Case, can_match, cost_of, needs_of, ships
from allocation.validity import order_faults, parts_lacking, possible_sizes
from combwright.allocation.answer import Buildable, Reservation, Served
from combwright.allocation.ask import can_build
from combwright.allocation.orders import Copy, Design, Order
from combwright.allocation.stock import Part, Stock

FAMILIES = ("all or nothing", "retune only", "limits", "flips", "cascades", "kits", "slot limits")
FAMILIES += ("mount rules", "parts", "held", "weights", "measured")
each_case = pytest.mark.parametrize(
    ("family", "seed"), [(family, seed) for family in FAMILIES for seed in range(200, 212)]
)
MONEY = Decimal("0.000001")


def wishes(family: str, seed: int) -> list[Case]:
    """Return the designs of a case, each as the only order, and a rack of one bin less."""
    case = drawn(family, seed)
    stock = replace(case.stock, bins=case.stock.bins[1:])
    designs = {id(c.design): c.design for order in case.orders for c in order.copies}
    return [
        Case(stock, (Order("wish", (Copy(1, 1, design),)),), case.workshop)
        for design in designs.values()
    ]


def asked(case: Case, keep=()) -> Buildable:
    return can_build(case.stock, design_in(case), case.workshop, keep=keep)


def design_in(case: Case) -> Design:
    return case.orders[0].copies[0].design


@each_case
def test_a_wish_can_be_built_when_its_seats_match_the_rack_and_then_costs_the_least(family, seed):
    for case in wishes(family, seed):
        answer = asked(case)
        assert answer.can == ships(case, [0])
        if answer.can:
            assert abs(answer.cost - cost_of(case, [0])) <= MONEY
            assert answer.missing == ()
            assert built_faults(case, answer) == []


def built_faults(case: Case, answer: Buildable) -> list[str]:
    """Return what is wrong with the plates; the row and copy of a wish mean nothing."""
    made = answer.made
    order = Order("wish", (Copy(made.row, made.copy, design_in(case)),))
    plates = [p.bin for p in (*made.seats, *(k.placed for k in made.kit))]
    found = list(order_faults(case, Served(order, (made,), answer.cost)))
    for plate in case.stock.bins:
        if plates.count(plate.code) > plate.count:
            found.append(f"bin {plate.code} gives more than it holds")
    return found


@each_case
def test_a_wish_that_cannot_be_built_says_how_many_of_what_are_missing(family, seed):
    for case in wishes(family, seed):
        answer = asked(case)
        if answer.can:
            continue
        assert (answer.made, answer.cost) == (None, None)
        assert answer.missing
        for shortage in answer.missing:
            assert shortage.missing > 0
            if shortage.parts:
                assert shortage.missing == parts_lacking(case, shortage.parts)
            else:
                assert shortage.missing in possible_sizes(case, shortage)


def test_a_cheaper_plate_is_found_behind_a_dearer_one():
    stock = Stock((bin_at("A-1", 60, cost="4"), bin_at("A-2", 60, cost="3")))
    answer = can_build(stock, Design(wants_at([60])), NO_FILING)
    assert (answer.cost, answer.made.seats[0].bin) == (3, "A-2")


def test_a_wish_without_its_covers_cannot_be_built():
    stock = Stock((bin_at("A-1", 60),), {"cover": Part("cover", 1)})
    answer = can_build(stock, Design(wants_at([60]), parts={"cover": 2}), NO_FILING)
    assert not answer.can
    assert [(each.missing, each.parts) for each in answer.missing] == [(1, ("cover",))]


def test_a_missing_plate_is_named_with_its_pitch_and_hole():
    answer = can_build(Stock((bin_at("A-1", 60),)), Design(wants_at([60, 64])), NO_FILING)
    assert [(s.missing, s.pitches, s.holes) for s in answer.missing] == [(1, ("E4",), (2,))]


def reserved(code: str, *, order: str = "W-1", hole: int = 1) -> Reservation:
    return Reservation(order, 2, 1, f"{hole} upper blow", code, "b1")


def test_a_reserved_plate_is_not_to_be_had():
    stock = Stock((bin_at("A-1", 60),))
    assert can_build(stock, Design(wants_at([60])), NO_FILING).can
    assert not can_build(stock, Design(wants_at([60])), NO_FILING, keep=[reserved("A-1")]).can


def test_what_a_bin_holds_beyond_its_reservations_is_to_be_had():
    stock = Stock((bin_at("A-1", 60, 3),))
    keep = [reserved("A-1", order="W-1"), reserved("A-1", order="W-2")]
    assert can_build(stock, Design(wants_at([60])), NO_FILING, keep=keep).can
    assert not can_build(stock, Design(wants_at([60, 60])), NO_FILING, keep=keep).can


@each_case
def test_a_wish_is_built_from_what_reservations_leave(family, seed):
    rng = Random(f"{family} {seed}")
    for case in wishes(family, seed):
        bins = [each for each in case.stock.bins for _ in range(each.count)]
        taken = rng.sample(bins, rng.randint(0, len(bins)))
        keep = [reserved(each.code, order=f"W-{n}") for n, each in enumerate(taken)]
        left = replace(
            case.stock,
            bins=tuple(replace(b, count=b.count - taken.count(b)) for b in case.stock.bins),
        )
        answer = asked(case, keep)
        assert answer.can == ships(replace(case, stock=left), [0])
        if answer.can:
            assert abs(answer.cost - cost_of(replace(case, stock=left), [0])) <= MONEY


def test_reservations_in_a_bin_that_is_gone_or_empty_hold_nothing_back():
    stock = Stock((bin_at("A-1", 60), bin_at("A-2", 60, 0)))
    keep = [reserved("A-9"), reserved("A-2", order="W-2"), reserved("A-2", order="W-3")]
    assert can_build(stock, Design(wants_at([60])), NO_FILING, keep=keep).can


def test_the_oracle_calls_some_wishes_of_every_family_buildable_and_some_not():
    for family in set(FAMILIES) - {"weights", "measured"}:  # nearly every plate serves there
        answers = {
            can_match(case.stock, needs_of(case.orders[0]), case.workshop)
            for seed in range(200, 212)
            for case in wishes(family, seed)
        }
        assert answers == {True, False}, family
