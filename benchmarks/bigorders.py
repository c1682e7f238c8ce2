"""How the shop bears a long order book: `python -m benchmarks.bigorders`.

A rack of 100,000 plates and 20,000 orders, most of them sent long ago, as they would be after some
years: 2,000 have plates set aside, 200 are new and in a plan, some are on their way. What is past
is written straight into the tables (`sentorders`); what is under way came there by the shop's own
actions, which are timed. So are the pages that people look at, and what they do on them.
"""

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Any, Final

from benchmarks import sentorders

PLATES: Final = 100_000
ORDERS: Final = 20_000
#: So many have plates set aside once as many as `UNDER_WAY` were begun, and so many are new.
ASIDE: Final = 2_000
UNDER_WAY: Final = 60
NEW: Final = 200
#: Who works here, by their role.
PEOPLE: Final = ("owner", "office", "maker", "packer")


def fill(plates: int = PLATES, orders: int = ORDERS, *, seed: int = 1) -> None:
    """Fill an empty shop: a rack of factory sets, and orders of which most are over."""
    from django.db import transaction

    from combwright.shop.orders.models import Order, Step
    from combwright.shop.people.models import Person

    dice = Random(seed)
    with transaction.atomic():
        owner, *_others = [Person.objects.join(each, each, each, None) for each in PEOPLE]
        _rack(plates)
        wishes = _orders(owner.pk, orders, dice)
        sentorders.fill(owner.pk, wishes, dice)
        made = Order.objects.filter(state="draft")
        Step.objects.bulk_create(Step(order=each, by=owner, words="made") for each in made)
    tidied()


def tidied() -> None:
    """Let PostgreSQL look at its tables, as it does by itself sooner or later."""
    from django.db import connection

    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")


def _rack(plates: int) -> None:
    """Spread plates as the planner's benchmarks do, in about one bin for twenty of them."""
    from benchmarks.shopdata import shop
    from combwright.shop.rack.models import Batch, Bin

    bins = shop(plates, 1).stock.bins
    names = sorted({each.batch for each in bins})
    batches = {name: Batch.objects.create(code=name) for name in names}
    Bin.objects.bulk_create(
        Bin(
            code=each.code, midi=each.midi, millicents=round(each.cents * 1000),
            slot_um=round(each.slot_mm * 1000), mount=each.mount, batch=batches[each.batch],
            cut=each.cut, walk=each.walk, cost=each.cost, count=each.count,
        )
        for each in bins
    )  # fmt: skip


def _orders(owner: int, orders: int, dice: Random) -> list[Any]:
    """Write orders down: the newest are drafts, the others sent; return the latter's wishes."""
    from combwright.shop.orders.models import Customer, Order, Wish

    many = 1 + orders // 10
    customers = Customer.objects.bulk_create(Customer(name=f"Customer {n}") for n in range(many))
    sent = max(orders - ASIDE - UNDER_WAY - NEW, 0)
    made = Order.objects.bulk_create(
        Order(
            number=f"B-{n + 1:06}", customer=customers[n % many], made_by_id=owner,
            state="sent" if n < sent else "draft", promised=n % 40 == 3 and n < sent,
            version=sentorders.SENT_VERSION if n < sent else 1,
            due=date.today() + timedelta(days=n % 90 - 3), value=Decimal(150 + n % 9 * 10),
        )
        for n in range(orders)
    )  # fmt: skip
    wishes = Wish.objects.bulk_create(
        Wish(
            order=each, row=1, key=dice.choice(sentorders.KEYS),
            layout=dice.choice(sentorders.LAYOUTS), kit=dice.choice(sentorders.KITS),
        )
        for each in made
    )  # fmt: skip
    return wishes[:sent]


def start(folder: str) -> None:
    """Make Django ready and the tables of a data folder's shop."""
    os.environ["COMBWRIGHT_DATA"] = folder
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")
    os.environ["COMBWRIGHT_MOST_A_SECOND"] = "0"
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0, interactive=False)


def wrong() -> list[str]:
    """Return a line for everything that does not add up in the shop; none unless there is a bug.

    Beside the shop's own proofs, the plates are counted from the ledger on one side and from orders
    and instruments on the other.
    """
    from django.db.models import Sum

    from combwright.shop.plans.faults import faults
    from combwright.shop.plans.models import Taken
    from combwright.shop.rack.item_queries import item_faults
    from combwright.shop.rack.models import Entry, Line
    from combwright.shop.rack.queries import ledger_faults
    from combwright.shop.register.models import Fitted

    found = [*faults(), *map(str, ledger_faults()), *map(str, item_faults())]
    moved = Line.objects.filter(entry__why__in=(Entry.PICKED, Entry.RETURNED))
    out = -(moved.aggregate(n=Sum("change"))["n"] or 0)
    there = Taken.objects.filter(state__in=(Taken.PICKED, Taken.FITTED)).count()
    if out != there:
        found.append(f"{out} plates left the rack for orders, {there} are there")
    seated = Fitted.objects.filter(taken_out_at=None).count()
    fitted = Taken.objects.filter(state=Taken.FITTED).count()
    if seated != fitted:
        found.append(f"{fitted} plates are fitted, {seated} sit in instruments")
    return found


def main(arguments: Sequence[str] | None = None) -> None:
    """Fill a shop of its own and print what everything took."""
    from benchmarks import orderacts, orderpages

    parser = argparse.ArgumentParser(prog="python -m benchmarks.bigorders", description=__doc__)
    parser.add_argument("--plates", type=int, default=PLATES)
    parser.add_argument("--orders", type=int, default=ORDERS)
    parser.add_argument("--turns", type=int, default=20)
    parser.add_argument("--data", metavar="FOLDER", help="keep the shop there")
    asked_for = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="combwright-orders-") as folder:
        start(asked_for.data or folder)
        from django.db import connections

        began = time.perf_counter()
        fill(asked_for.plates, asked_for.orders)
        print(f"filled in {time.perf_counter() - began:.0f} s", flush=True)
        for done in orderacts.brought_under_way():
            print(done.line(), flush=True)
        for page in orderpages.timed(turns=asked_for.turns):
            print(page.line(), flush=True)
        for done in orderacts.a_day():
            print(done.line(), flush=True)
        print("\n".join(wrong()) or "everything adds up")
        connections.close_all()
        sys.stdout.flush()


if __name__ == "__main__":
    main()
