"""Several people open sets at once: each set is opened once, and nobody half opens one."""

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from threading import Barrier

import pytest
from django.db import connection, connections

from combwright.shop.rack import opening
from combwright.shop.rack.actions import NewBin, NotSo, Slice
from combwright.shop.rack.item_queries import item_faults
from combwright.shop.rack.models import Bin, Entry, Item, Line
from combwright.shop.rack.opening_actions import NoneLeft, open_item
from combwright.shop.rack.queries import ledger_faults
from shop.rack.shelves import somebody
from shop.rack.stores import a_set

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]
HANDS = 4


def opened_by_many(code, place_of):
    """Let all hands open one at the same moment; return what each was told."""
    if connection.vendor == "sqlite" and connection.settings_dict["NAME"] == ":memory:":
        pytest.fail("threads need a database in a file; see tests/conftest.py")
    start = Barrier(HANDS)

    def one_hand(number):
        try:
            item = Item.objects.select_related("batch").get(code=code)
            person = somebody()
            rows = opening.proposal(item, place_of(number), Decimal(2))
            slices = [
                Slice(NewBin(r["code"], r["midi"], round(r["slot"] * 1000), r["mount"]), 1)
                for r in rows
            ]
            start.wait(timeout=60)
            return open_item(person, item, slices)
        except NotSo as error:
            return error
        finally:
            connections.close_all()

    with ThreadPoolExecutor(HANDS) as pool:
        return list(pool.map(one_hand, range(HANDS)))


@pytest.mark.parametrize(
    "place_of", [lambda _n: "G-1", lambda n: f"G-{n}"], ids=["same bins", "other bins"]
)
@pytest.mark.parametrize("came", [1, 2])
def test_the_last_set_is_opened_once_and_the_others_are_told(place_of, came):
    somebody()
    a_set(came=came)
    told = opened_by_many("Set G", place_of)
    assert sum(isinstance(each, Entry) for each in told) == came
    assert sum(isinstance(each, NoneLeft) for each in told) == HANDS - came
    assert all("left to open" in str(each) for each in told if isinstance(each, NoneLeft))
    assert Item.objects.get().count == 0
    assert Line.objects.filter(entry__why=Entry.OPENED).count() == 20 * came
    assert sum(Bin.objects.values_list("count", flat=True)) == 20 * came
    assert list(ledger_faults()) == list(item_faults()) == []


def test_two_sets_that_go_into_the_same_new_bins_are_both_opened():
    somebody()
    a_set("Set G", came=HANDS)
    told = opened_by_many("Set G", lambda _n: "G-1")
    assert [type(each) for each in told] == [Entry] * HANDS
    assert set(Bin.objects.values_list("count", flat=True)) == {HANDS}
