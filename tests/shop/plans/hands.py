"""People who plan, set aside and undo at once, in threads or in processes of their own."""

from random import Random

import django
from django.apps import apps
from django.db import connections

if not apps.ready:  # a process of its own begins here
    django.setup()

from combwright.errors import CombwrightError
from combwright.shop.plans import actions
from combwright.shop.plans.models import MadePlan
from shop.plans.days import a_plan
from shop.rack.shelves import somebody

HANDS, TURNS = 4, 6


def one_turn(dice, person):
    what = dice.randrange(4)
    if what == 0:
        set_aside = MadePlan.objects.exclude(set_aside_at=None).filter(undone_at=None).first()
        if set_aside is not None:
            actions.undo(person, set_aside)
    else:
        actions.set_aside(person, a_plan())


def one_hand(seed):
    """Take so many turns; return what was said where something was refused."""
    dice, refused = Random(seed), []
    try:
        person = somebody()
        for _ in range(TURNS):
            try:
                one_turn(dice, person)
            except CombwrightError as error:
                refused.append(str(error))
    finally:
        connections.close_all()
    return refused


def process(seed, database):
    """Be a hand in a process of its own, on the tests' database."""
    connections["default"].settings_dict["NAME"] = database
    return one_hand(seed)
