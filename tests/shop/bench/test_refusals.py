"""What the bench's actions refuse, once an order has gone on, back, or away."""

import pytest

from combwright.errors import CombwrightError
from combwright.shop.bench import building, picking, sending
from combwright.shop.bench.picking import NotThus
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Bin, Item
from combwright.shop.rack.plate_actions import label_plates
from combwright.shop.register.models import Instrument
from shop.bench.days import (
    a_set,
    being_picked,
    built,
    in_the_rack,
    on_the_bench,
    pick_all,
    plate_of,
    set_aside,
    sound,
)
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def test_the_plates_of_a_sent_kit_do_not_come_back_by_a_late_tick():
    a_set("C", 2)
    order = built(kit="5 draw")
    sending.send(somebody(), order)
    with pytest.raises(NotThus, match=r"W-1 is sent"):
        picking.unpick(somebody(), plate_of(order, "kit 1"))
    assert sound()


def test_an_order_that_is_built_is_not_put_back_as_if_it_were_picked():
    a_set("C", 1)
    order = on_the_bench()
    building.fit(somebody(), plate_of(order, "1 upper blow"))
    with pytest.raises(CombwrightError, match=r"W-1 is on the bench"):
        picking.put_order_back(somebody(), order)
    assert sound()


def test_an_order_on_the_bench_is_taken_apart_and_planned_anew():
    a_set("C", 1, cents=-20)
    parts_before = {each.code: each.count for each in Item.objects.all()}
    order = on_the_bench()
    for place in ("1 upper blow", "5 lower draw"):
        building.fit(somebody(), plate_of(order, place))
    there = sending.take_apart(somebody(), order)
    assert (there.state, in_the_rack()) == ("open", 20)
    assert Bin.objects.get(code="b1-C-5d filed 1").count == 1
    assert {each.code: each.count for each in Item.objects.all()} == parts_before
    assert not Instrument.objects.filter(taken_apart_at=None).exists()
    assert sound()
    assert set_aside(order).state == "aside"
    assert sound()
    with pytest.raises(CombwrightError, match=r"W-1 is plates set aside"):
        sending.take_apart(somebody(), order)


def test_nothing_is_set_aside_for_a_cancelled_order():
    a_set("C", 2)
    order = being_picked()
    gone = picking.not_there(somebody(), plate_of(order, "5 lower draw"))
    sending.cancel(somebody(), order, because="moved away")
    with pytest.raises(NotThus, match=r"W-1 is cancelled"):
        picking.substitute(somebody(), gone, gone.bin.code)
    assert sound()


def test_a_retuned_plate_of_a_built_kit_comes_back_to_a_bin_that_tells_its_pitch():
    a_set("C", 2, cents=-20)
    order = built(kit="5 draw")
    sending.cancel(somebody(), order, because="moved away")
    assert Bin.objects.get(code="b1-C-5d filed 1").count == 2
    assert in_the_rack() == 40
    assert sound()


def test_a_labelled_plate_that_was_filed_knows_its_pitch_when_it_comes_back():
    bins = a_set("C", 1, cents=-20)
    [labelled] = label_plates(bins["5 draw"], 1)
    order = being_picked()
    picking.pick(somebody(), plate_of(order, "5 lower draw"), plate=labelled)
    pick_all(order)
    picking.to_the_bench(somebody(), order)
    building.fit(somebody(), plate_of(order, "5 lower draw"))
    sending.cancel(somebody(), order, because="moved away")
    labelled.refresh_from_db()
    assert (labelled.bin.code, labelled.cents) == ("b1-C-5d filed 1", 0)
    assert sound()


def test_what_is_filed_twice_is_named_after_its_first_bin():
    a_set("C", 1)
    order = on_the_bench()
    taken = plate_of(order, "5 lower draw")
    first = building.put_back_filed(somebody(), taken, pitch_mc=7_707_500)
    picking.pick(somebody(), picking.substitute(somebody(), taken, first.code))
    again = plate_of(order, "5 lower draw")
    second = building.put_back_filed(somebody(), again, pitch_mc=7_709_000)
    assert (first.code, second.code) == ("b1-C-5d filed 1", "b1-C-5d filed 2")
    assert Taken.objects.filter(order=order, state=Taken.GONE).count() == 2
    assert sound()


def test_a_held_bins_plate_does_not_come_free_by_being_filed():
    bins = a_set("C", 1)
    order = on_the_bench()
    Bin.objects.filter(pk=bins["5 draw"].pk).update(held=True)
    taken = plate_of(order, "5 lower draw")
    home = building.put_back_filed(somebody(), taken, pitch_mc=7_707_500)
    home.refresh_from_db()
    assert home.held
    assert sound()


@pytest.mark.parametrize("act", [building.broke, sending.cancel])
def test_what_is_lost_or_cancelled_needs_a_reason(act):
    a_set("C", 1)
    order = on_the_bench()
    what = order if act is sending.cancel else plate_of(order, "5 lower draw")
    with pytest.raises(NotThus, match=r"Say "):
        act(somebody(), what, because=" ")
    assert sound()
