"""Small random plans, family by family; the same seed always gives the same case."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from random import Random

from allocation.oracle import Case
from combwright.allocation.orders import Copy, Design, KitWant, Order, Want
from combwright.allocation.stock import Bin, Part, Stock
from combwright.allocation.workshop import Retune, Weight, Workshop
from combwright.comb.seats import BREATHS, DECKS

#: A workshop that files nothing: a plate serves its own pitch only.
NO_FILING = Workshop(retune=Retune(raise_most_cents=0, lower_most_cents=0, free_cents=0))
WEIGHTS = Workshop(
    retune=Retune(raise_most_cents=60, lower_most_cents=40),
    weight=Weight(lower_most_cents=120, fixed=Decimal("0.40"), each_cent=Decimal("0.025")),
)
DAY = date(2031, 5, 1)
DAYS = (None, DAY, DAY + timedelta(7), DAY + timedelta(14))
HOLES = 4


@dataclass(frozen=True)
class Menu:
    """What a family's cases are made of; pairs are least and most, other tuples are drawn from."""

    bins: tuple[int, int] = (4, 8)
    counts: tuple[int, ...] = (1, 1, 2)
    midis: tuple[int, ...] = (60, 62, 64)
    have_cents: tuple[float, ...] = (0.0,)
    slots: tuple[float, ...] = (10.0,)
    mounts: tuple[str, ...] = ("front",)
    batches: tuple[str, ...] = ("b1",)
    costs: tuple[str, ...] = ("1", "1.50", "2.25")
    held: float = 0.0
    arrivals: tuple[date | None, ...] = (None,)
    orders: tuple[int, int] = (3, 7)
    designs: tuple[int, int] = (2, 4)
    seats: tuple[int, int] = (1, 3)
    want_cents: tuple[float, ...] = (0.0,)
    takes: tuple[float, ...] = (12.0,)
    rules: tuple[str, ...] = ("any",)
    kits: tuple[int, ...] = (0,)
    parts: tuple[str, ...] = ()
    copies: tuple[int, ...] = (1,)
    values: tuple[str, ...] = ("1", "2", "3", "5.5")
    priorities: tuple[int, ...] = (5,)
    promised: float = 0.0
    dues: tuple[date | None, ...] = (None,)
    split: float = 0.0
    workshop: Workshop = NO_FILING


def case_of(menu: Menu, rng: Random) -> Case:
    """Draw one case from a menu."""
    bins = tuple(bin_of(menu, rng, n) for n in range(rng.randint(*menu.bins)))
    designs = [design_of(menu, rng) for _ in range(rng.randint(*menu.designs))]
    parts = None
    if menu.parts:
        named = [name for name in menu.parts if rng.random() < 0.9]
        parts = {n: Part(n, rng.randint(1, 9), Decimal(rng.choice(menu.costs))) for n in named}
    many = rng.randint(*menu.orders)
    orders: list[Order] = []
    while len(orders) < many:
        orders += orders_of(menu, rng, designs, row=len(orders) + 2)
    return Case(Stock(bins, parts), tuple(orders), menu.workshop)


def bin_of(menu: Menu, rng: Random, number: int) -> Bin:
    return Bin(
        code=f"A-{number + 1}",
        midi=rng.choice(menu.midis),
        cents=rng.choice(menu.have_cents),
        slot_mm=rng.choice(menu.slots),
        mount=rng.choice(menu.mounts),
        batch=rng.choice(menu.batches),
        count=rng.choice(menu.counts),
        cost=Decimal(rng.choice(menu.costs)),
        walk=f"{rng.randint(1, 12)}",
        held=rng.random() < menu.held,
        arrives=rng.choice(menu.arrivals),
    )


def design_of(menu: Menu, rng: Random) -> Design:
    """Draw an instrument with its kit; now and then loose plates only."""
    takes = [rng.choice(menu.takes) for _ in range(HOLES)]
    rules = {deck: rng.choice(menu.rules) for deck in DECKS}

    def want(hole: int, deck: str) -> Want:
        return Want(
            hole=hole,
            deck=deck,
            breath=rng.choice(BREATHS),
            midi=rng.choice(menu.midis),
            cents=rng.choice(menu.want_cents),
            takes_mm=takes[hole - 1],
            mount=rules[deck],
        )

    places = [(hole, deck) for hole in range(1, HOLES + 1) for deck in DECKS]
    chosen = sorted(rng.sample(places, rng.randint(*menu.seats)))
    kit = tuple(
        KitWant(f"{hole} {deck}", want(hole, deck))
        for hole, deck in rng.sample(places, rng.choice(menu.kits))
    )
    seats = tuple(want(*place) for place in chosen)
    if kit and rng.random() < 0.2:
        seats = ()
    return Design(seats, kit, {name: rng.randint(1, 2) for name in menu.parts})


def orders_of(menu: Menu, rng: Random, designs: list[Design], *, row: int) -> list[Order]:
    """Draw one order, or the copies of one that ships in parts."""
    design = rng.choice(designs)
    copies = [Copy(row, n + 1, design) for n in range(rng.choice(menu.copies))]
    if len(copies) > 1 and rng.random() < 0.3:
        copies[-1] = Copy(row + 50, 1, rng.choice(designs))
    order = Order(
        name=f"W-{row:03}",
        copies=tuple(copies),
        value=Decimal(rng.choice(menu.values)),
        priority=rng.choice(menu.priorities),
        promised=rng.random() < menu.promised,
        due=rng.choice(menu.dues),
    )
    if rng.random() < menu.split:
        return [replace(order, copies=(copy,), split=True) for copy in copies]
    return [order]


FILING = Workshop()
OFFSETS = (-60.0, -20.0, 5.0, 35.0, 120.0)
ONE_COST = ("1",)

FAMILIES: dict[str, Menu] = {
    "all or nothing": Menu(seats=(2, 4), bins=(5, 10)),
    "ties": Menu(
        values=("1",), costs=ONE_COST, orders=(4, 8), designs=(1, 2), seats=(1, 2), dues=DAYS
    ),
    "retune only": Menu(
        midis=(60, 61, 62), have_cents=OFFSETS, want_cents=(0.0, 1.5, -13.5), workshop=FILING
    ),
    "limits": Menu(
        midis=(60, 61),
        have_cents=(-150.0, -150.001, 80.0, 80.001, 3.0, 3.001, -3.0, -3.001),
        workshop=FILING,
    ),
    "flips": Menu(midis=(67,), bins=(2, 4), seats=(2, 4), counts=(1, 2, 3)),
    "contested": Menu(midis=(60, 61), bins=(2, 3), counts=(2, 3, 4), orders=(5, 8)),
    "cascades": Menu(
        midis=(60, 61, 62, 63, 64, 65), bins=(5, 9), counts=(1,), seats=(1, 2), workshop=FILING
    ),
    "kits": Menu(kits=(0, 1, 2), seats=(1, 2), bins=(3, 7)),
    "promises": Menu(promised=0.35, counts=(1, 2, 3), bins=(4, 7), seats=(1, 2)),
    "slot limits": Menu(slots=(9.0, 11.0, 12.0, 13.0), takes=(9.0, 11.0, 12.5), midis=(60, 62)),
    "mount rules": Menu(
        mounts=("front", "rear"), rules=("any", "front", "rear"), midis=(60, 62), seats=(1, 4)
    ),
    "priorities": Menu(priorities=(1, 2, 5), values=("1", "2", "9"), orders=(4, 7)),
    "zero values": Menu(values=("0", "0", "1", "2"), priorities=(1, 5), orders=(4, 7)),
    "parts": Menu(parts=("cover", "screw"), seats=(1, 2), counts=(1, 2, 3)),
    "split copies": Menu(copies=(2, 3), split=0.7, orders=(4, 7), counts=(1, 2, 3), dues=DAYS),
    "several batches": Menu(
        batches=("b1", "b2", "b3"), costs=ONE_COST, seats=(2, 4), bins=(6, 10), counts=(1, 2)
    ),
    "quantities": Menu(copies=(1, 2, 3), seats=(1, 2), counts=(1, 3, 4)),
    "expected": Menu(arrivals=DAYS, dues=DAYS, seats=(1, 2), bins=(4, 8), designs=(1, 3)),
    "held": Menu(held=0.4, bins=(4, 8), seats=(1, 2)),
    "weights": Menu(
        midis=(60, 61), have_cents=(*OFFSETS, 40.0, 90.0, 120.001), seats=(1, 2), workshop=WEIGHTS
    ),
    "measured": Menu(
        midis=(60, 61, 62),
        have_cents=(-2.131, 4.277, -0.018, 11.903),
        want_cents=(-13.686, 0.0, 3.91),
        bins=(5, 8),
        workshop=FILING,
    ),
    "everything": Menu(
        bins=(7, 11),
        counts=(1, 2, 3),
        midis=(60, 61, 62),
        have_cents=(-20.0, 0.0, 2.5, 35.0),
        slots=(9.0, 11.0),
        takes=(10.0, 12.0),
        mounts=("front", "rear"),
        rules=("any", "any", "rear"),
        batches=("b1", "b2"),
        held=0.1,
        arrivals=DAYS,
        dues=DAYS,
        kits=(0, 0, 1),
        parts=("cover",),
        copies=(1, 1, 2),
        values=("0", "1", "2.5"),
        priorities=(1, 5),
        promised=0.1,
        seats=(1, 2),
        split=0.3,
        workshop=WEIGHTS,
    ),
}


def drawn(family: str, seed: int) -> Case:
    """Return the case of a family and a seed."""
    return case_of(FAMILIES[family], Random(f"{family} {seed}"))


def changed_stock(case: Case, change: Callable[[Bin], Bin]) -> Case:
    """Return a case with every bin changed."""
    return replace(case, stock=replace(case.stock, bins=tuple(map(change, case.stock.bins))))


def wants_at(
    midis: Iterable[int], *, deck: str = "upper", breath: str = "blow"
) -> tuple[Want, ...]:
    """Return seats from hole 1 upwards that want these notes and take any plate made here."""
    return tuple(Want(hole, deck, breath, midi, 0.0, 12.0) for hole, midi in enumerate(midis, 1))


def bin_at(code: str, midi: int, count: int = 1, *, cost: str = "1", **more: object) -> Bin:
    """Return a bin of plates that fit every seat of `wants_at`."""
    given = {"cents": 0.0, "slot_mm": 10.0, "mount": "front", "batch": "b1", **more}
    return Bin(code=code, midi=midi, count=count, cost=Decimal(cost), **given)


def order_at(name: str, midis: Iterable[int], value: str = "1", **more: object) -> Order:
    """Return an order of one instrument; its row is told by its name's letter, a being row 2."""
    design = Design(wants_at(midis))
    return Order(name, (Copy(ord(name[0]) - 95, 1, design),), Decimal(value), **more)
