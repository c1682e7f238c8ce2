"""A shop whose people are killed at their work: `python killed.py WHAT KILLS`; prints JSON lines.

Each is a fork of its own. It makes ready, says so, and goes on with the work until it is killed;
after every action it says what was the newest in the books then: that must be there afterwards.
"""

import json
import os
import signal
import sys
import time
from random import Random

import django

from shop.crashes.shop import asked, tell

SETS = 4


def begin():
    """Make the shop's tables, somebody, plates and parts."""
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    from combwright.shop.rack.item_actions import NewItem, make_item
    from combwright.shop.rack.models import Item
    from shop.plans.days import a_set
    from shop.rack.shelves import somebody

    a_set("C", SETS)
    a_set("C", SETS, batch="b2", cents=-20)
    for part in ("comb", "cover", "screw", "gasket"):
        make_item(somebody(), NewItem(part, Item.PART, part=part), came=100_000)


class Hands:
    """Somebody at work; `said` is told after every action."""

    def __init__(self, seed, said):
        from shop.rack.shelves import somebody

        self.me, self.dice, self.said = somebody(), Random(seed), said

    def does(self, act, *args, **more):
        """Do something; a refusal is an answer too, as others left the shop as it is."""
        from combwright.errors import CombwrightError

        try:
            done = act(*args, **more)
        except CombwrightError:
            done = None
        self.said(newest())
        return done

    def orders(self, *states):
        from combwright.shop.orders.models import Order

        return list(Order.objects.filter(state__in=states).order_by("pk"))

    def tidy(self):
        """Bring what earlier ones left to an end, and fill the bins up again."""
        from combwright.shop.bench import sending
        from combwright.shop.rack.models import Bin, Entry
        from combwright.shop.rack.posting import post

        for order in self.orders("open", "aside", "picking", "bench", "built")[:-3]:
            sending.cancel(self.me, order, because="nobody wants it")
        few = {b.pk: SETS for b in Bin.objects.all() if b.count - b.aside < 2}
        if few:
            post(self.me, Entry.RECEIVED, few)

    def set_aside(self):
        from combwright.shop.plans import actions
        from shop.plans.days import a_plan, an_order

        while len(self.orders("open")) < 2:
            an_order(kit="5 draw", a4=self.dice.choice(["440", "442"]))
        return a_plan, actions

    def aside(self):
        """Make ready to set aside; the work is to do so, and to undo it."""
        a_plan, actions = self.set_aside()
        made = a_plan()
        yield
        self.does(actions.set_aside, self.me, made)
        self.does(actions.undo, self.me, made)

    def one(self, state, words):
        """Return an order in a state; with the work that leads there where there is none."""
        there = self.orders(state)
        if not there:
            list(words())
            there = self.orders(state)
        return self.dice.choice(there) if there else None

    def shelf(self):
        a_plan, actions = self.set_aside()
        self.does(actions.set_aside, self.me, a_plan())
        yield

    def pick(self):
        """Make ready to pick; the work is to pick an order, and to put it back."""
        from combwright.shop.bench import picking

        order = self.one("picking", list) or self.one("aside", self.shelf)
        yield
        self.does(picking.begin, self.me, [order])
        for taken in order.taken.filter(state="aside"):
            self.does(picking.pick, self.me, taken)
            if self.dice.random() < 0.2:
                self.does(picking.unpick, self.me, taken)
                self.does(picking.pick, self.me, taken)
        if self.dice.random() < 0.3:
            self.does(picking.put_order_back, self.me, order)
        else:
            self.does(picking.to_the_bench, self.me, order)

    def build(self):
        """Make ready to build; the work is to seat, to break, to replace, and to finish."""
        from combwright.shop.bench import building

        order = self.one("bench", self.pick)
        yield
        if order is None:
            return
        for taken in order.taken.filter(state="picked").exclude(place__startswith="kit"):
            self.does(building.fit, self.me, taken)
            chance = self.dice.random()
            if chance < 0.1:
                self.does(building.take_out, self.me, taken)
                self.does(building.fit, self.me, taken)
            elif chance < 0.2:
                self.does(building.broke, self.me, taken, because="cracked")
                self.another(taken)
            elif chance < 0.3:
                pitch = taken.wanted_mc + 7_000
                self.does(building.put_back_filed, self.me, taken, pitch_mc=pitch)
                self.another(taken)
        self.does(building.finish, self.me, order)

    def another(self, gone):
        from combwright.shop.bench import building, picking

        found = picking.options(gone)
        new = self.does(picking.substitute, self.me, gone, found[0].bin) if found else None
        if new:
            self.does(picking.pick, self.me, new)
            self.does(building.fit, self.me, new)

    def ship(self):
        """Make ready to send; the work is to send one, and to cancel one that is on its way."""
        from combwright.shop.bench import sending

        built = self.one("built", self.build)
        others = self.orders("bench", "picking", "aside")
        yield
        if built:
            self.does(sending.send, self.me, built, tracking="parcel 1")
        if others:
            apart = others[0].state == "bench" and self.dice.random() < 0.5
            if apart:
                self.does(sending.take_apart, self.me, others[0])
            self.does(sending.cancel, self.me, others[0], because="changed their mind")


def newest():
    """Return the newest line of each book."""
    from combwright.shop.orders.models import Step
    from combwright.shop.rack.models import Line
    from combwright.shop.register.models import Fitted

    return [
        model.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        for model in (Line, Step, Fitted)
    ]


def work(what, seed, said, times=None):
    """Make ready, say so, and work, until killed or so many times; return how long it took."""
    took = []
    while times is None or len(took) < times:
        hands = Hands(f"{seed} {len(took)}", said)
        hands.tidy()
        turn = getattr(hands, what)()
        next(turn)
        said("ready")
        start = time.monotonic()
        for _end in turn:
            pass
        took.append(time.monotonic() - start)
    return max(took)


def killed(what, seed, seconds):
    """Let a fork work for so long once it is ready, and kill it; return how, and what it said."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        os.close(read)
        try:
            work(what, seed, lambda said: os.write(write, json.dumps(said).encode() + b"\n"))
        finally:
            os._exit(1)
    os.close(write)
    with os.fdopen(read) as heard:
        before = next((line for line in heard if line == '"ready"\n'), None)
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        rest = [json.loads(line) for line in heard if line.endswith("\n")]
    ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    books = [each for each in rest if each != "ready"]
    return {"ended": ended, "ready": before is not None, "said": books[-1:], "done": len(books)}


def look():
    """Return what is wrong in the shop, how far its books go, and what was happening."""
    from shop.life.proofs import digest, plates_there, wrong

    return {
        "wrong": wrong(), "newest": newest(), "plates": plates_there(), "digest": digest(),
    }  # fmt: skip


def spoilt():
    """Lose a plate, then double one, behind everybody's back: the proofs must see both."""
    from django.db import transaction

    from combwright.shop.plans.models import Taken
    from shop.life.proofs import wrong

    hands = Hands("spoilt", lambda _said: None)
    list(hands.pick())
    seen = []
    for change in (
        lambda: Taken.objects.filter(state="picked").first().delete(),
        lambda: Taken.objects.filter(state="picked").update(state="aside"),
    ):
        with transaction.atomic():
            change()
            seen.append(len(wrong()))
            transaction.set_rollback(True)
    return seen


def main(what, kills):
    # Everything is imported before the forks, so that they begin at once.
    django.setup()
    from combwright.shop.bench import building, picking, sending  # noqa: F401
    from shop.life import proofs  # noqa: F401
    from shop.plans import days  # noqa: F401

    asked(begin)
    pace = asked(lambda: work(what, "pace", lambda _said: None, 3))
    dice = Random(what)
    for turn in range(kills):
        ended = killed(what, turn, dice.uniform(0, 1.2 * pace))
        tell({**ended, **asked(look)})
    tell({"spoilt": asked(spoilt)})


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
