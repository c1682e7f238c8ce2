"""Many at once on the same bins: sums are exact, nothing is negative, nobody waits for ever.

Many threads of one process, as in the shop's server, and processes of their own, as servers beside
one another.
"""

import multiprocessing
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor

import pytest
from django.db import connection, connections

from combwright.shop.rack.models import Bin, Entry, Line
from combwright.shop.rack.queries import ledger_faults
from shop.rack.hands import HANDS, TURNS, one_hand, process
from shop.rack.shelves import a_bin, somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]


def threads():
    with ThreadPoolExecutor(HANDS) as pool:
        return list(pool.map(one_hand, range(HANDS)))


def processes():
    database = connection.settings_dict["NAME"]
    connections.close_all()
    spawned = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(HANDS, mp_context=spawned) as pool:
        return list(pool.map(process, range(HANDS), [database] * HANDS))


@pytest.mark.parametrize("hands", [threads, processes])
def test_many_hands_on_the_same_bins_keep_the_ledger_exact(hands):
    if connection.vendor == "sqlite" and connection.settings_dict["NAME"] == ":memory:":
        pytest.fail("threads need a database in a file; see tests/conftest.py")
    somebody()
    for n in range(3):
        a_bin(f"A-{n}", 5)
    before = Line.objects.count()
    refused = sum(hands())
    assert list(ledger_faults()) == []
    assert all(plates.count >= 0 for plates in Bin.objects.all())
    assert Line.objects.count() > before
    assert refused < HANDS * TURNS
    # Each thing that was not refused is there once: an entry, with what the bin held after it.
    assert Entry.objects.count() == 3 + HANDS * TURNS - refused
    for plate_bin in Bin.objects.all():
        held = 0
        for line in plate_bin.lines.order_by("pk"):
            held += line.change
            assert line.after == held >= 0
