"""The whole life of orders and plates, any action after any other, with the proofs after each.

A refusal must leave every row as it was. COMBWRIGHT_LIVES says how many lives are lived.
"""

import os
from datetime import date
from random import Random
from typing import ClassVar

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from combwright.errors import CombwrightError
from combwright.shop.bench import building, picking, sending
from combwright.shop.orders import actions as orders
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.plans import actions as plans
from combwright.shop.plans.models import MadePlan, Taken
from combwright.shop.rack import actions as rack
from combwright.shop.rack import change_actions, item_actions, plate_actions
from combwright.shop.rack.item_actions import NewItem
from combwright.shop.rack.models import Batch, Bin, Entry, Item, ItemLine, Plate
from shop.life.proofs import digest, plates_there, wrong
from shop.plans.days import a_plan, a_set
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]

LIVES, STEPS = int(os.environ.get("COMBWRIGHT_LIVES", "6")), 25
ANY = st.integers(0, 2**32)
#: What can be ordered: plain ones, odd ones, loose plates, several copies; some need retuning.
WISHES = (
    {"key": "C"},
    {"key": "C", "kit": "5 draw"},
    {"key": "C", "changes": "5 draw=F#5"},
    {"key": "D", "quantity": 2},
    {"key": "C", "changes": "3 draw=none"},
    {"key": "C", "what": "plates", "kit": "5 draw; 4 draw"},
    {"key": "C", "a4": "442"},
)


class Lives(RuleBasedStateMachine):
    """One shop, from its stock to whatever comes of it.

    Each turn is a deed of somebody's; a number says which, and to which row.
    """

    @initialize(parts=st.booleans(), wishes=st.tuples(ANY, ANY, ANY))
    def stock(self, parts, wishes):
        self._whole = transaction.atomic()
        self._whole.__enter__()
        self.me = somebody()
        if not parts:  # a shop that keeps no parts at all
            ItemLine.objects.all().delete()
            Item.objects.all().delete()
        self.lost = self.came = 0
        self.told = []
        self.at_first = plates_there()
        for n in wishes:
            self.make(5 * n + 1)
        self.deed(plans.set_aside, self.me, a_plan())

    def teardown(self):
        try:
            connection.check_constraints()
        finally:
            transaction.set_rollback(True)
            self._whole.__exit__(None, None, None)

    # What a deed is done to: any row, most often one that the deed is for.

    def some(self, model, n, **wanted):
        """Return a row; one in three is any, whether the deed is for it or not."""
        rows = list(model.objects.filter(**wanted) if n % 3 else model.objects.all())
        return rows[n // 3 % len(rows)] if rows else None

    def deed(self, act, *args, **more):
        """Do something to rows; if it is refused, look whether everything is as it was."""
        if None in args:
            return None
        before = digest()
        try:
            with transaction.atomic():
                return act(*args, **more)
        except CombwrightError:
            assert digest() == before
            return None

    # An order's own way

    def onward(self, n):
        """Bring an order a step further, as on a day when nothing goes wrong."""
        there = Order.objects.exclude(state__in=[State.SENT, State.CANCELLED])
        rows = list(there.order_by("pk"))
        if rows:
            order = rows[n % len(rows)]
            self.NEXT[order.state](self, order, n % 2 == 0)

    def _open(self, order, _half):
        self.deed(orders.open_order, order, self.me)

    def _set_aside(self, _order, _half):
        self.deed(plans.set_aside, self.me, a_plan())

    def _begin(self, order, _half):
        self.deed(picking.begin, self.me, [order])

    def _pick(self, order, half):
        rest = list(order.taken.filter(state=Taken.ASIDE))
        for taken in rest[: len(rest) // 2] if half else rest:
            self.deed(picking.pick, self.me, taken)
        self.deed(picking.to_the_bench, self.me, order)

    def _build(self, order, half):
        rest = list(order.taken.filter(state=Taken.PICKED).exclude(place__startswith="kit"))
        for taken in rest[: len(rest) // 2] if half else rest:
            self.deed(building.fit, self.me, taken)
        self.deed(building.finish, self.me, order)

    def _send(self, order, _half):
        self.deed(sending.send, self.me, order)

    NEXT: ClassVar = {
        State.DRAFT: _open, State.OPEN: _set_aside, State.ASIDE: _begin,
        State.PICKING: _pick, State.BENCH: _build, State.BUILT: _send,
    }  # fmt: skip

    # The office

    def make(self, n):
        facts = {"value": n % 4, "due": date(2026, 12, 1 + n % 4)}
        order = self.deed(orders.make_order, self.me, facts, [WISHES[n % len(WISHES)]])
        if n % 5:
            self.deed(orders.open_order, order, self.me)

    def draft(self, n):
        self.deed(orders.back_to_draft, self.some(Order, n, state=State.OPEN), self.me)

    def open(self, n):
        self.deed(orders.open_order, self.some(Order, n, state=State.DRAFT), self.me)

    def change_wish(self, n):
        order = self.some(Order, n, state=State.OPEN)
        if order:
            row, seen = order.wishes.first(), order.version - (n % 4 == 0)
            wish = WISHES[n // 4 % len(WISHES)]
            self.deed(orders.save_wish, order, self.me, row, wish, seen=seen)

    def change(self, n):
        order = self.some(Order, n, state=State.ASIDE)
        if order:
            seen = order.version
            self.deed(orders.change_order, order, self.me, {"value": n % 4}, seen=seen)

    def cancel(self, n):
        order = self.some(Order, 3 * n)
        self.deed(sending.cancel, self.me, order, because="changed their mind")

    # Plans

    def plan(self, _n):
        a_plan()

    def set_aside(self, n):
        plan = self.some(MadePlan, n, set_aside_at=None)
        order = self.some(Order, n, state=State.OPEN)
        only = [order.number] if n % 2 and order else None
        self.deed(plans.set_aside, self.me, plan or a_plan(), only)

    def undo(self, n):
        plan = self.some(MadePlan, n, set_aside_at__isnull=False, undone_at=None)
        self.deed(plans.undo, self.me, plan)

    def give_back(self, n):
        self.deed(plans.give_back, self.me, self.some(Order, n, state=State.ASIDE))

    def pin(self, n):
        taken = self.some(Taken, n, state=Taken.ASIDE, pinned=n % 3 == 0)
        self.deed(plans.pin, self.me, taken, pinned=n % 3 > 0)

    # Picking

    def begin(self, n):
        order = self.some(Order, n, state=State.ASIDE)
        self.deed(picking.begin, self.me, [order] if order else None)

    def pick(self, n):
        taken = self.some(Taken, n, state=Taken.ASIDE, order__state=State.PICKING)
        there = Plate.objects.filter(bin=taken.bin) if n % 7 and taken else Plate.objects.all()
        self.deed(picking.pick, self.me, taken, plate=there.first())

    def unpick(self, n):
        self.deed(picking.unpick, self.me, self.some(Taken, n, state=Taken.PICKED))

    def not_there(self, n):
        taken = self.some(Taken, n, state=Taken.ASIDE, order__state__in=picking.PICKED_IN)
        self.lost += self.deed(picking.not_there, self.me, taken) is not None

    def substitute(self, n):
        gone = self.some(Taken, n, state=Taken.GONE, order__state__in=picking.PICKED_IN)
        if gone:
            found = picking.options(gone) if n % 5 else ()
            code = found[0].bin if found else self.some(Bin, 3 * n).code
            self.deed(picking.substitute, self.me, gone, code)

    def put_back(self, n):
        self.deed(picking.put_order_back, self.me, self.some(Order, n, state=State.PICKING))

    def to_the_bench(self, n):
        self.deed(picking.to_the_bench, self.me, self.some(Order, n, state=State.PICKING))

    # The bench

    def fit(self, n):
        taken = self.some(Taken, n, state=Taken.PICKED, order__state=State.BENCH)
        self.deed(building.fit, self.me, taken)

    def take_out(self, n):
        self.deed(building.take_out, self.me, self.some(Taken, n, state=Taken.FITTED))

    def broke(self, n):
        taken = self.some(Taken, n, order__state=State.BENCH)
        words = "cracked" if n % 5 else " "
        self.lost += self.deed(building.broke, self.me, taken, because=words) is not None

    def put_back_filed(self, n):
        taken = self.some(Taken, n, order__state=State.BENCH)
        if taken:
            pitch = taken.wanted_mc + (-20_000, 0, 7_000, -50_000_000)[n // 7 % 4]
            self.deed(building.put_back_filed, self.me, taken, pitch_mc=pitch)

    def finish(self, n):
        self.deed(building.finish, self.me, self.some(Order, n, state=State.BENCH))

    def back_to_the_bench(self, n):
        self.deed(building.back_to_the_bench, self.me, self.some(Order, n, state=State.BUILT))

    def take_apart(self, n):
        self.deed(sending.take_apart, self.me, self.some(Order, n, state=State.BENCH))

    def send(self, n):
        self.deed(sending.send, self.me, self.some(Order, n, state=State.BUILT))

    # The rack

    def receive(self, n):
        if self.deed(rack.receive, self.me, self.some(Bin, 3 * n), n % 3):
            self.came += n % 3

    def scrap(self, n):
        if self.deed(rack.scrap, self.me, self.some(Bin, 3 * n), n % 3, note="worn"):
            self.lost += n % 3

    def count(self, n):
        there = self.some(Bin, 3 * n)
        if self.deed(rack.count, self.me, there, n % 4):
            self.came += n % 4 - there.count

    def move(self, n):
        here = self.some(Bin, n, aside__gt=0)
        if here:
            there = self.some(Bin, n, midi=here.midi, batch=here.batch)
            self.deed(rack.move, self.me, here, there, 1)

    def take_back(self, n):
        entry = self.some(Entry, n, why__in=[Entry.PICKED, Entry.MISSING, Entry.BUILT])
        back = self.deed(rack.take_back, self.me, entry, note="wrong")
        if back:
            assert entry.why not in (Entry.PICKED, Entry.BUILT)
            self.came += sum(back.lines.values_list("change", flat=True))

    def hold_batch(self, n):
        batch = self.some(Batch, 3 * n)
        self.deed(rack.hold, batch, "rattles") if n % 2 else self.deed(rack.release, batch)

    def hold_bin(self, n):
        there = self.some(Bin, n, aside__gt=0)
        if n % 2:
            self.deed(change_actions.hold_bin, self.me, there, "rattles")
        else:
            self.deed(change_actions.release, self.me, there)

    def label(self, n):
        self.deed(plate_actions.label_plates, self.some(Bin, n, aside__gt=0), 1)

    def put_labelled_back(self, n):
        plate = self.some(Plate, n, bin=None)
        if plate:
            home = self.some(Bin, n, midi=plate.midi, batch=plate.batch)
            with_order = plate.taken.filter(state__in=(Taken.PICKED, Taken.FITTED)).exists()
            there = plates_there()
            self.deed(plate_actions.put_back, self.me, plate, home, note="found again")
            plate.refresh_from_db()
            assert plate.bin is None or not with_order
            self.came += plates_there() - there

    def count_items(self, n):
        self.deed(item_actions.count_items, self.me, self.some(Item, 3 * n), n % 60)

    # Somebody's turn

    @property
    def deeds(self):
        """Return what may be done; one in four brings an order on its way."""
        return [
            *[self.onward] * 14,
            self.make, self.make, self.draft, self.open, self.change_wish, self.change,
            self.cancel,
            self.plan, self.set_aside, self.set_aside, self.undo, self.give_back, self.pin,
            self.begin, self.pick, self.pick, self.unpick, self.not_there, self.substitute,
            self.put_back, self.to_the_bench,
            self.fit, self.fit, self.take_out, self.broke, self.put_back_filed,
            self.substitute, self.finish, self.back_to_the_bench, self.take_apart, self.send,
            self.receive, self.scrap, self.count, self.move, self.take_back, self.hold_batch,
            self.hold_bin, self.label, self.label, self.put_labelled_back, self.count_items,
        ]  # fmt: skip

    @rule(n=ANY)
    def turn(self, n):
        # Hypothesis likes the same numbers again; a life whose turns are all alike is a dull one.
        dice = Random(f"{n} {len(self.told)}")
        deed = dice.choice(self.deeds)
        self.told.append(deed.__name__)
        deed(dice.randrange(10**9))

    # What must be so

    @invariant()
    def nothing_is_wrong(self):
        assert wrong() == [], self.told

    @invariant()
    def every_plate_is_accounted_for(self):
        assert plates_there() == self.at_first + self.came - self.lost, self.told


def stocked():
    """Stock the shop that all lives begin with."""
    me = somebody()
    a_set("C", 2)
    a_set("C", 1, batch="b2", cents=-20)
    a_set("D", 2, batch="b3")
    for name, part, many in (
        ("combs", "comb", 3), ("combs there", "comb", 2), ("covers", "cover", 7),
        ("screws", "screw", 40), ("gaskets", "gasket", 90),
    ):  # fmt: skip
        item_actions.make_item(me, NewItem(name, Item.PART, part=part), came=many)


def test_whatever_is_done_in_whatever_order_every_plate_is_accounted_for():
    few = settings(
        max_examples=LIVES, stateful_step_count=STEPS, deadline=None, database=None,
        derandomize="COMBWRIGHT_LIVES" not in os.environ,
        suppress_health_check=list(HealthCheck), phases=[Phase.generate],
    )  # fmt: skip
    stocked()
    run_state_machine_as_test(Lives, settings=few)
