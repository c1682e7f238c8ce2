"""Hands that work on the same bins at once, in threads or in processes of their own."""

from random import Random

import django
from django.apps import apps
from django.db import connections

if not apps.ready:  # a process of its own begins here
    django.setup()

from combwright.shop.rack import actions
from combwright.shop.rack.models import Bin
from shop.rack.shelves import somebody

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
    """Take so many turns; return how many of them were refused."""
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


def process(seed, database):
    """Be a hand in a process of its own, on the tests' database."""
    connections["default"].settings_dict["NAME"] = database
    return one_hand(seed)
