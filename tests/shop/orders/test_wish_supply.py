"""What the rack has for a wish, beside what is set aside for others."""

from decimal import Decimal

import pytest

from combwright.allocation.ask import can_build
from combwright.allocation.orders import Want
from combwright.allocation.stock import Bin as StockBin
from combwright.allocation.workshop import Workshop
from combwright.shop.orders import supply, wish_live
from combwright.shop.orders.reading import Reader
from combwright.shop.plans import actions as plan_actions
from combwright.shop.plans.asking import unclaimed_bins
from combwright.shop.rack.models import Bin
from shop.orders.desk import a_wish
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

pytestmark = pytest.mark.django_db
SHOP = Workshop()


def want(midi, *, takes_mm=15.0, mount="any", cents=0.0):
    return Want(1, "upper", "blow", midi, cents, takes_mm, mount)


def a_bin(code, midi, *, count=1, cents=0.0, slot_mm=14.0, mount="front"):
    return StockBin(code, midi, cents, slot_mm, mount, "b1", count)


def hows(wants, bins):
    return [each.how for each in supply.supplies(wants, bins, SHOP)]


def answered(wish):
    return wish_live.answered(Reader().wish(wish), SHOP)


def test_a_plate_near_enough_lies_in_the_rack_and_one_further_off_is_retuned():
    assert hows([want(60)], [a_bin("x", 60, cents=3)]) == ["rack"]
    found = supply.supplies([want(60)], [a_bin("x", 60, cents=-20)], SHOP)[0]
    assert (found.how, found.bin, found.cents) == ("retune", "x", 20.0)
    # 150 cents up and 80 down are as far as the usual workshop goes.
    assert hows([want(60)], [a_bin("x", 60, cents=-150)]) == ["retune"]
    assert hows([want(60)], [a_bin("x", 60, cents=-150.001)]) == ["missing"]
    assert hows([want(60)], [a_bin("x", 60, cents=80)]) == ["retune"]
    assert hows([want(60)], [a_bin("x", 60, cents=80.001)]) == ["missing"]


def test_a_plate_that_does_not_fit_the_seat_is_none():
    assert hows([want(60)], [a_bin("x", 60, slot_mm=15.0)]) == ["rack"]
    assert hows([want(60)], [a_bin("x", 60, slot_mm=15.01)]) == ["missing"]
    assert hows([want(60, mount="rear")], [a_bin("x", 60)]) == ["missing"]


def test_no_plate_is_used_twice_and_nobody_takes_the_only_one_of_another():
    assert hows([want(60), want(60)], [a_bin("x", 60)]) == ["rack", "missing"]
    # The first could take either, the second only the one that is nearer to both.
    wants = [want(60), want(61, cents=40)]
    found = supply.supplies(wants, [a_bin("near", 60), a_bin("far", 59)], SHOP)
    assert [each.bin for each in found] == ["far", "near"]


@pytest.mark.data
def test_a_wish_is_answered_as_the_planner_answers_it():
    a_set("C")
    answer = answered(a_wish())
    assert answer.can
    assert answer.cost >= 20 * Decimal("2.20")
    assert {each.how for each in answer.seats} == {"rack"}
    design = Reader().design(a_wish("W-2"))
    planned = can_build(
        wish_live.Stock(unclaimed_bins(range(128)), None), design, SHOP
    )  # fmt: skip
    assert (planned.can, planned.cost) == (answer.can, answer.cost)


@pytest.mark.data
def test_what_is_set_aside_for_others_serves_no_wish():
    a_set("C")
    an_order("W-1")
    made = a_plan()
    plan_actions.set_aside(somebody(), made)
    answer = answered(a_wish("W-2"))
    assert not answer.can
    assert {each.how for each in answer.seats} == {"missing"}
    assert answer.missing


@pytest.mark.data
def test_held_bins_serve_no_wish_and_the_missing_plate_is_named():
    a_set("C")
    Bin.objects.filter(midi=77).update(held=True)
    answer = answered(a_wish())
    assert not answer.can
    assert any("F5" in text for text in answer.missing)
    lacking = [each.want for each in answer.seats if each.how == "missing"]
    assert [(w.hole, w.breath) for w in lacking] == [(5, "draw")]


@pytest.mark.data
def test_the_rack_is_asked_once_whatever_is_wanted(django_assert_num_queries):
    a_set("C")
    wish = Reader().wish(a_wish(kit="5 draw; 5 draw=F#5"))
    with django_assert_num_queries(2):
        answer = wish_live.answered(wish, SHOP)
    assert [label for label, _found in answer.kit] == ["5 draw", "5 draw"]


def test_the_bins_asked_for_are_those_that_a_seat_could_use():
    a_set("C")
    wants = [want(60)]
    found = {each.midi for each in supply.unclaimed_bins(wants, SHOP)}
    assert found == {60}
    assert supply.unclaimed_bins([], SHOP) == ()
