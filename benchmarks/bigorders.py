"""How the shop bears a long order book: `python -m benchmarks.bigorders`.

A rack of 100,000 plates and 20,000 orders, most of them sent long ago, as they would be after some
years; 2,000 have plates set aside and 200 are new. Filled straight into the tables; what it writes
is what the actions would have written. Then the shop's own actions are timed.
"""

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any, Final

ORDERS: Final = 20_000
ASIDE: Final = 2_000
NEW: Final = 200
_KEYS: Final = ("C", "A", "G", "D", "Bb", "F", "E", "Eb")
_LAYOUTS: Final = ("standard", "standard", "standard", "natural-minor", "third-blow-raised")
_KITS: Final = ("", "", "5 draw")
_BEGAN: Final = datetime(2021, 3, 1, 7, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Timed:
    """How long something took, and how many queries it made."""

    what: str
    seconds: float
    queries: int


def fill(plates: int, orders: int, *, seed: int = 1) -> None:
    """Fill an empty shop: a rack of factory sets, and orders of which most are over."""
    from django.db import connection, transaction

    from combwright.shop.people.models import Person

    with transaction.atomic():
        owner = Person.objects.join("owner", "Owner", "owner", None)
        _rack(owner.pk, plates)
        _orders(owner.pk, orders, Random(seed))
    if connection.vendor == "postgresql":  # which does so by itself, sooner or later
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def _rack(owner: int, plates: int) -> None:
    """Spread plates as the planner's benchmarks do, in about one bin for twenty of them."""
    from benchmarks.shopdata import shop
    from combwright.shop.rack.models import Batch, Bin, Entry, Line

    bins = shop(plates, 1).stock.bins
    batches = {name: Batch.objects.create(code=name) for name in {each.batch for each in bins}}
    made = Bin.objects.bulk_create(
        Bin(
            code=each.code, midi=each.midi, millicents=round(each.cents * 1000),
            slot_um=round(each.slot_mm * 1000), mount=each.mount, batch=batches[each.batch],
            cut=each.cut, walk=each.walk, cost=each.cost, count=each.count,
        )
        for each in bins
    )  # fmt: skip
    entry = Entry.objects.create(made_by_id=owner, why=Entry.RECEIVED, note="all at once")
    Line.objects.bulk_create(
        Line(entry=entry, bin=each, change=each.count, after=each.count) for each in made
    )


def _orders(owner: int, orders: int, dice: Random) -> None:
    """Write orders down: the newest are open, the others were sent."""
    from combwright.shop.orders.models import Customer, Order, Step, Wish

    customers = Customer.objects.bulk_create(
        Customer(name=f"Customer {n}") for n in range(1 + orders // 10)
    )
    is_open = min(ASIDE + NEW, orders)
    made = Order.objects.bulk_create(
        Order(
            number=f"B-{n:06}", customer=customers[n % len(customers)], made_by_id=owner,
            state="sent" if n < orders - is_open else "open",
            due=date(2026, 1, 1) + timedelta(days=n % 400), value=Decimal(150 + n % 9 * 10),
        )
        for n in range(orders)
    )  # fmt: skip
    Wish.objects.bulk_create(
        Wish(
            order=each, row=1, key=dice.choice(_KEYS), layout=dice.choice(_LAYOUTS),
            kit=dice.choice(_KITS),
        )
        for each in made
    )  # fmt: skip
    Step.objects.bulk_create(
        Step(order=each, by_id=owner, words=words, state=state)
        for each in made
        for words, state in (("made", ""), ("opened for planning", "open"))
    )


def measured() -> Iterator[Timed]:
    """Time the shop's actions, one after another, as a day would have them."""
    from combwright.shop.bench import picking
    from combwright.shop.orders.models import Order
    from combwright.shop.people.models import Person
    from combwright.shop.plans import actions
    from combwright.shop.plans.models import Taken

    me = Person.objects.get(name="owner")
    new = list(Order.objects.filter(state="open").order_by("-pk")[:NEW])
    Order.objects.filter(pk__in=[each.pk for each in new]).update(state="draft")
    first: list[Any] = []
    yield from _plan(me, f"{ASIDE} orders", first)
    yield _timed(f"set aside {ASIDE} orders", lambda: actions.set_aside(me, first[-1]))
    Order.objects.filter(pk__in=[each.pk for each in new]).update(state="open")
    yield from _plan(me, f"{NEW} more", first)
    numbers = set(first[-1].orders.filter(ready=True).values_list("order_id", flat=True))
    ready = [each.number for each in new if each.number in numbers]
    yield _timed(f"set aside {len(ready)} orders", lambda: actions.set_aside(me, first[-1], ready))
    walk = list(Order.objects.filter(number__in=ready[:10]))
    yield _timed("begin to pick 10 orders", lambda: picking.begin(me, walk))
    plates = list(Taken.objects.filter(order__in=walk).select_related("order")[:100])
    yield _each("pick one plate", plates, lambda taken: picking.pick(me, taken))
    gone = [picking.not_there(me, each) for each in Taken.objects.filter(
        order__in=walk, state=Taken.ASIDE)[:10]]  # fmt: skip
    yield _each("the best substitutes", gone, picking.options)
    yield _each("missing places of an order", walk, picking.missing_places)
    yield from _given_back(me)
    yield _proofs()


def _plan(me: Any, what: str, made: list[Any]) -> Iterator[Timed]:
    from combwright.allocation.planner import plan
    from combwright.files.answers import plan_answer
    from combwright.shop.designs.queries import workshop
    from combwright.shop.plans import actions
    from combwright.shop.plans.asking import asked

    kept: list[Any] = []
    yield _timed(f"read for a plan, {what}", lambda: kept.append(asked()))
    (problem,) = kept
    numbers = workshop()
    yield _timed(
        f"plan, {what}",
        lambda: kept.append(
            plan(problem.stock, problem.orders, numbers, seconds=60, keep=problem.keep)
        ),
    )
    answer = plan_answer(kept[-1])
    yield _timed(
        f"keep the plan, {what}",
        lambda: made.append(actions.keep_answer(me, dict(problem.said), answer)),
    )


def _given_back(me: Any) -> Iterator[Timed]:
    from combwright.shop.orders.models import Order
    from combwright.shop.plans import actions

    some = list(Order.objects.filter(state="aside")[:20])
    yield _each("give one order's plates back", some, lambda order: actions.give_back(me, order))


def _proofs() -> Timed:
    from combwright.shop.plans.faults import faults
    from combwright.shop.rack.queries import ledger_faults

    def prove() -> None:
        if wrong := [*faults(), *ledger_faults()]:
            raise RuntimeError(f"the shop does not add up: {wrong[0]}")

    return _timed("prove that all adds up", prove)


def _timed(what: str, act: Callable[[], object]) -> Timed:
    with _counting() as queries:
        start = time.perf_counter()
        act()
        return Timed(what, time.perf_counter() - start, queries[0])


def _each(what: str, things: list[Any], act: Callable[[Any], object]) -> Timed:
    """Time something done to many; give what one took on the average."""
    with _counting() as queries:
        start = time.perf_counter()
        for each in things:
            act(each)
        many = max(len(things), 1)
        return Timed(what, (time.perf_counter() - start) / many, round(queries[0] / many))


@contextmanager
def _counting() -> Iterator[list[int]]:
    from django.db import connection

    counted = [0]

    def count(execute: Any, *args: Any) -> Any:
        counted[0] += 1
        return execute(*args)

    with connection.execute_wrapper(count):
        yield counted


def main() -> None:
    """Fill a shop of its own and print what everything took."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plates", type=int, default=100_000)
    parser.add_argument("--orders", type=int, default=ORDERS)
    asked_for = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="combwright-orders-") as folder:
        os.environ["COMBWRIGHT_DATA"] = folder
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connections

        call_command("migrate", verbosity=0, interactive=False)
        start = time.perf_counter()
        fill(asked_for.plates, asked_for.orders)
        sys.stdout.write(f"filled in {time.perf_counter() - start:.1f} s\n")
        for each in measured():
            sys.stdout.write(f"{each.seconds:9.3f} s {each.queries:6d} queries  {each.what}\n")
            sys.stdout.flush()
        connections.close_all()


if __name__ == "__main__":
    main()
