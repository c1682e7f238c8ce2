"""Many at once on the same bins: sums are exact, nothing is negative, nobody waits for ever."""

from concurrent.futures import ThreadPoolExecutor
from random import Random

import pytest
from django.db import connection, connections

from combwright.shop.rack import actions
from combwright.shop.rack.models import Bin, Line
from combwright.shop.rack.queries import ledger_faults
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
HANDS, TURNS = 4, 25


def one_turn(dice, person):
    here, there = dice.sample(list(Bin.objects.order_by("code")), 2)
    what = dice.randrange(4)
    if what == 0:
        actions.receive(person, here, 2)
    elif what == 1:
        actions.move(person, here, there, 3)
    elif what == 2:
        actions.scrap(person, here, 3, note="x")
    else:
        actions.count(person, here, 4)


def one_hand(seed):
    dice, refused = Random(seed), 0
    try:
        person = somebody()
        for _ in range(TURNS):
            try:
                one_turn(dice, person)
            except actions.NotEnough:
                refused += 1
    finally:
        connections.close_all()
    return refused


def test_many_hands_on_the_same_bins_keep_the_ledger_exact():
    if connection.vendor == "sqlite" and connection.settings_dict["NAME"] == ":memory:":
        pytest.fail("threads need a database in a file; see tests/conftest.py")
    somebody()
    for n in range(3):
        a_bin(f"A-{n}", 5)
    before = Line.objects.count()
    with ThreadPoolExecutor(HANDS) as pool:
        refused = sum(pool.map(one_hand, range(HANDS)))
    assert list(ledger_faults()) == []
    assert all(plates.count >= 0 for plates in Bin.objects.all())
    assert Line.objects.count() > before
    assert refused < HANDS * TURNS
