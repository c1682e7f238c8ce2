"""Everybody at once in one shop, in threads and in processes: every plate is accounted for."""

import multiprocessing
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor

import pytest
from django.db import connection, connections

from combwright.shop.orders.models import Order
from combwright.shop.rack.item_actions import NewItem, make_item
from combwright.shop.rack.models import Item
from shop.life.crowd import KINDS, one_hand, process
from shop.life.proofs import wrong
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]


def threads():
    with ThreadPoolExecutor(len(KINDS)) as pool:
        return list(pool.map(one_hand, range(len(KINDS))))


def processes():
    database = connection.settings_dict["NAME"]
    connections.close_all()
    spawned = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(len(KINDS), mp_context=spawned) as pool:
        return list(pool.map(process, range(len(KINDS)), [database] * len(KINDS)))


@pytest.mark.parametrize("hands", [threads, processes])
def test_everybody_at_once_loses_and_doubles_no_plate(hands):
    me = somebody()
    a_set("C", 6)
    a_set("C", 4, batch="b2", cents=-20)
    for part in ("comb", "cover", "screw", "gasket"):
        make_item(me, NewItem(part, Item.PART, part=part), came=300)
    for _ in range(4):
        an_order()
    a_plan()
    said = hands()
    assert [line for _done, _refused, lines in said for line in lines] == []
    assert wrong() == []
    assert sum(done for done, _refused, _lines in said) > len(KINDS)
    assert Order.objects.exclude(state__in=["draft", "open"]).exists()
