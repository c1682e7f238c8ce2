"""Hands of every kind in one shop at once: planners, pickers, builders, packers, the office."""

from random import Random

import django
from django.apps import apps
from django.db import OperationalError, connections

if not apps.ready:  # a process of its own begins here
    django.setup()

from combwright.errors import CombwrightError
from combwright.shop.bench import building, picking, sending
from combwright.shop.orders import actions as orders
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.plans import actions as plans
from combwright.shop.plans.models import MadePlan, Taken
from combwright.shop.rack import actions as rack
from combwright.shop.rack.models import Bin
from shop.plans.days import a_plan, an_order
from shop.rack.shelves import somebody

TURNS = 12
KINDS = ("office", "planner", "planner", "picker", "picker", "builder", "builder", "packer")


def some(dice, rows):
    rows = list(rows)
    return dice.choice(rows) if rows else None


def one(dice, state):
    return some(dice, Order.objects.filter(state=state))


def office(me, dice):
    """Take an order, change one, or cancel one that is anywhere on its way."""
    what = dice.randrange(4)
    if what < 2:
        an_order(kit=dice.choice(["", "5 draw"]), a4=dice.choice(["440", "442"]))
    elif what == 2 and (order := one(dice, State.OPEN)):
        orders.change_order(order, me, {"value": dice.randint(1, 9)}, seen=order.version)
    elif order := some(dice, Order.objects.exclude(state__in=[State.SENT, State.CANCELLED])):
        sending.cancel(me, order, because="changed their mind")


def planner(me, dice):
    """Plan and set aside, perhaps an older plan; undo, pin, give back."""
    what = dice.randrange(6)
    if what < 3:
        plans.set_aside(me, a_plan())
    elif what == 3 and (plan := some(dice, MadePlan.objects.all())):
        (plans.set_aside if plan.set_aside_at is None else plans.undo)(me, plan)
    elif what == 4 and (taken := some(dice, Taken.objects.filter(state=Taken.ASIDE)[:50])):
        plans.pin(me, taken, pinned=dice.random() < 0.5)
    elif order := one(dice, State.ASIDE):
        plans.give_back(me, order)


def picker(me, dice):
    """Pick an order's plates, all or some; what is not there is replaced; two pick one order."""
    order = one(dice, State.PICKING) or one(dice, State.ASIDE)
    if order is None:
        return
    picking.begin(me, [order])
    for taken in order.taken.filter(state=Taken.ASIDE):
        picking.pick(me, taken)
        if dice.random() < 0.05:
            picking.unpick(me, taken)
            another(me, picking.not_there(me, taken))
    if dice.random() < 0.2:
        picking.put_order_back(me, order)
    else:
        picking.to_the_bench(me, order)


def another(me, gone):
    """Replace a plate by the best that is free."""
    if found := picking.options(gone):
        picking.pick(me, picking.substitute(me, gone, found[0].bin))


def builder(me, dice):
    """Seat an order's plates; some break, some go back with another pitch."""
    order = one(dice, State.BENCH)
    if order is None:
        return
    for taken in order.taken.filter(state=Taken.PICKED).exclude(place__startswith="kit"):
        building.fit(me, taken)
        chance = dice.random()
        if chance < 0.05:
            another(me, building.broke(me, taken, because="cracked"))
        elif chance < 0.1:
            building.put_back_filed(me, taken, pitch_mc=taken.wanted_mc + 7_000)
            another(me, taken)
    building.finish(me, order)


def packer(me, dice):
    """Send, and work in the rack beside: receive, move, scrap and count."""
    if (order := one(dice, State.BUILT)) and dice.random() < 0.7:
        sending.send(me, order, tracking="parcel")
        return
    here = some(dice, Bin.objects.all())
    what = dice.randrange(4)
    if what == 0:
        rack.receive(me, here, 2)
    elif what == 1:
        rack.scrap(me, here, 1, note="worn")
    elif what == 2:
        rack.count(me, here, here.count)
    elif there := some(dice, Bin.objects.filter(midi=here.midi, batch=here.batch)):
        rack.move(me, here, there, 1)


def one_hand(seed, turns=TURNS):
    """Take so many turns; return what was done, what was refused, and what went wrong."""
    kind = KINDS[seed % len(KINDS)]
    dice, done, refused, wrong = Random(seed), 0, 0, []
    try:
        me = somebody()
        for _ in range(turns):
            try:
                globals()[kind](me, dice)
                done += 1
            except CombwrightError:
                refused += 1
            except Taken.DoesNotExist:
                refused += 1  # given back between looking and taking
            except OperationalError as error:
                wrong.append(f"{kind}: {error}")
    finally:
        connections.close_all()
    return done, refused, wrong


def process(seed, database):
    """Be a hand in a process of its own, on the tests' database."""
    connections["default"].settings_dict["NAME"] = database
    return one_hand(seed)
