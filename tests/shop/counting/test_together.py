"""Many at once in one round: it is booked once, and moves meanwhile falsify nothing."""

from concurrent.futures import ThreadPoolExecutor
from random import Random
from threading import Barrier

import pytest
from django.db import connections

from combwright.shop.counting import actions
from combwright.shop.rack import actions as rack
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Bin, Entry
from combwright.shop.rack.queries import ledger_faults
from shop.counting.rounds import a_rack, a_round, counted
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]


def at_once(*works):
    """Do all of it at the same moment; return what each gave, or was refused with."""
    gate = Barrier(len(works))

    def one(work):
        try:
            gate.wait()
            return work()
        except NotSo as error:
            return error
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(works)) as pool:
        return list(pool.map(one, works))


def test_two_who_book_one_round_at_once_book_it_once():
    a_rack(5, 5)
    person, round_ = somebody(), a_round()
    counted(round_, 1, 3)
    counted(round_, 2, 6)
    said = at_once(*[lambda: actions.book(person, round_)] * 3)
    assert sum(isinstance(each, Entry) for each in said) == 1
    assert sum(isinstance(each, actions.RoundClosed) for each in said) == 2
    assert list(Bin.objects.order_by("pk").values_list("count", flat=True)) == [3, 6]


def test_counts_moves_and_booking_at_once_leave_every_plate_where_it_is():
    bins, person = a_rack(40, 40, 40), somebody()
    round_ = a_round()
    missing = {1: 1, 2: 0, 3: 2}

    def moving():
        dice = Random(3)
        for _ in range(15):
            here, there = dice.sample(bins, 2)
            rack.move(person, here, there, 2)

    def counting():
        for place, fewer in missing.items():
            ask = round_.asks.get(place=place)
            # What lies there is what the ledger says in that very moment, less what is lost.
            for _ in range(200):
                held = Bin.objects.get(pk=ask.bin_id).count
                done = counted(round_, place, held - fewer, sure=True)
                if done.held_then == held:
                    break

    at_once(moving, counting)
    assert {a.place: -a.difference for a in round_.asks.all()} == missing
    moved = dict(Bin.objects.values_list("pk", "count"))
    said = at_once(lambda: actions.book(person, round_), moving)
    assert isinstance(said[0], Entry)
    assert sum(Bin.objects.values_list("count", flat=True)) == sum(moved.values()) - 3
    assert list(ledger_faults()) == []
