"""Made-up shops of any size: racks filled from sliced factory sets, and orders that want more.

Nothing here was measured in a workshop. Popularities, prices, slot lengths and how fast seats are
used up are assumptions, chosen so that plates are about as scarce as in a shop that cuts its sets
up: whole sets come in, the popular seats go out, and the rest stays in the racks.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import count
from typing import Final, Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray

from benchmarks import assumed
from combwright.allocation.orders import Copy, Design, KitWant, Order, wants_of
from combwright.allocation.stock import Bin, Stock
from combwright.comb.layouts import Layout, from_lists
from combwright.comb.seats import Breath
from combwright.notes.keys import ORDINARY_KEYS, parse_key
from combwright.notes.temperament import NAMES as TEMPERAMENTS
from combwright.notes.temperament import named_temperament

#: realistic: eight prices; equal: orders are counted; classes: three priorities; distinct: every
#: value differs and every plate is measured by itself, in a bin of its own.
Variant = Literal["realistic", "equal", "classes", "distinct"]
VARIANTS: Final[tuple[Variant, ...]] = get_args(Variant)

STANDARD: Final = from_lists(
    "standard",
    [assumed.C4 + n for n in assumed.A291810[::2]],
    [assumed.C4 + n for n in assumed.A291810[1::2]],
)
KEYS: Final = tuple(parse_key(name) for name in ORDINARY_KEYS)


@dataclass(frozen=True, slots=True)
class Shop:
    """What a benchmark plans: a rack and an order book."""

    stock: Stock
    orders: tuple[Order, ...]


def shop(plates: int, orders: int, *, variant: Variant = "realistic", seed: int = 1) -> Shop:
    """Make a shop of so many plates and open orders, the same for the same seed."""
    rng = np.random.default_rng([seed, plates, orders])
    return Shop(
        Stock(tuple(_bins(rng, plates, alone=variant == "distinct"))),
        tuple(_orders(rng, orders, variant)),
    )


def more_orders(orders: int, *, first_row: int, seed: int = 1) -> tuple[Order, ...]:
    """Make orders that come in later: other names than those of `shop`, rows from `first_row`."""
    made = _orders(np.random.default_rng([seed, first_row]), orders, "realistic", first_row)
    return tuple(replace(order, name=f"N{order.name}") for order in made)


def _bins(rng: np.random.Generator, plates: int, *, alone: bool) -> Iterator[Bin]:
    """Fill the racks, each key's sets batch by batch; `alone` gives each plate its own bin."""
    left = _left_over(rng, plates)
    numbers = count(1)
    for key, batch, place in np.argwhere(left).tolist():
        seat = STANDARD.seats[place]
        lots = _lots(int(left[key, batch, place]), 1 if alone else assumed.BIN_HOLDS)
        cents = np.round(rng.normal(0, 3.0, len(lots)), 3 if alone else 1)
        for lot, off in zip(lots, cents.tolist(), strict=True):
            code = f"A-{next(numbers)}"
            yield Bin(
                code=code,
                midi=seat.midi + KEYS[key].shift,
                cents=off,
                slot_mm=assumed.slot_mm(seat.hole, batch),
                mount="front" if seat.breath == "blow" else "rear",
                batch=assumed.BATCHES[batch],
                count=lot,
                cost=assumed.plate_cost(key, batch),
                walk=code,
                cut=str(seat.hole),
            )


def _left_over(rng: np.random.Generator, plates: int) -> NDArray[np.int64]:
    """Return what is left of the sets cut up, shape (keys, batches, seats), `plates` in all."""
    used = np.array([assumed.USED_UP.get((s.hole, s.breath), 0.25) for s in STANDARD.seats])
    sets = np.outer(assumed.KEY_SHARES, assumed.BATCH_SHARES)[:, :, None]
    shares = sets * rng.beta(4 * (1 - used), 4 * used, (*sets.shape[:2], len(used)))
    return rng.multinomial(plates, shares.ravel() / shares.sum()).reshape(shares.shape)


def _lots(count: int, holds: int) -> list[int]:
    full, rest = divmod(count, holds)
    return [holds] * full + [rest] * (rest > 0)


def _orders(
    rng: np.random.Generator, orders: int, variant: Variant, first_row: int = 2
) -> Iterator[Order]:
    """Draw wishes, quantities and values, and write each order down."""
    only = rng.integers(0, len(assumed.SPARES), orders)
    spares = np.where(rng.random(orders) < assumed.SPARES_SHARE, only, -1)
    quantities = rng.choice(assumed.QUANTITIES, orders, p=assumed.QUANTITY_SHARES).tolist()
    values = _values(rng, spares, variant)
    priorities = rng.choice((1, 5, 8), orders, p=(0.1, 0.7, 0.2)).tolist()
    book = _Designs()
    for n, wish in enumerate(_wishes(rng, spares)):
        design, quantity = book.design(wish), quantities[n]
        by_copy = variant in ("realistic", "classes")
        yield Order(
            name=f"W-{n + 1:06}",
            copies=tuple(Copy(first_row + n, copy + 1, design) for copy in range(quantity)),
            value=values[n] * quantity if by_copy else values[n],
            priority=priorities[n] if variant == "classes" else 5,
        )


def _values(rng: np.random.Generator, spares: NDArray[np.int64], variant: Variant) -> list[Decimal]:
    orders = len(spares)
    if variant == "equal":
        return [Decimal(1)] * orders
    instruments = rng.choice(assumed.INSTRUMENT_VALUES, orders, p=assumed.INSTRUMENT_VALUE_SHARES)
    drawn = np.where(spares < 0, instruments, rng.choice(assumed.SPARES_VALUES, orders))
    if variant == "distinct":  # cents that no other order has, below one unit of value
        cents = rng.permutation(orders)
        scale = 10 ** len(str(orders))
        return [Decimal(int(v) * scale + int(c)) / scale for v, c in zip(drawn, cents, strict=True)]
    worth = {v: Decimal(v) for v in {*assumed.INSTRUMENT_VALUES, *assumed.SPARES_VALUES}}
    return [worth[v] for v in drawn.tolist()]


def _random_changes(rng: np.random.Generator) -> tuple[assumed.Change, ...]:
    places = rng.choice(len(STANDARD.seats), rng.integers(1, 4), replace=False)
    seats = (STANDARD.seats[place] for place in sorted(places.tolist()))
    return tuple((s.hole, s.breath, int(rng.choice((-2, -1, 1, 2)))) for s in seats)


class _Wish(NamedTuple):
    """What one order asks for, as numbers into the tables above."""

    key: int
    changes: tuple[assumed.Change, ...]
    temperament: int
    standard: int
    comb: int
    kit: tuple[tuple[int, Breath], ...]
    only_spares: bool


def _wishes(rng: np.random.Generator, spares: NDArray[np.int64]) -> Iterator[_Wish]:
    """Draw a wish for each order; `spares` says which spare plates it is for, -1 for none."""

    def draw(shares: Sequence[float]) -> list[int]:
        drawn: list[int] = rng.choice(len(shares), len(spares), p=shares).tolist()
        return drawn

    layouts, kits = draw(assumed.LAYOUT_SHARES), draw(assumed.KIT_SHARES)
    rows = zip(
        draw(assumed.KEY_SHARES),
        draw(assumed.TEMPERAMENT_SHARES),
        draw(assumed.A4_SHARES),
        draw(assumed.COMB_SHARES),
        strict=True,
    )
    for n, (key, temperament, standard, comb) in enumerate(rows):
        named = layouts[n] < len(assumed.LAYOUTS)
        yield _Wish(
            key=key,
            changes=assumed.LAYOUTS[layouts[n]] if named else _random_changes(rng),
            temperament=temperament,
            standard=standard,
            comb=comb,
            kit=assumed.KITS[kits[n]] if spares[n] < 0 else assumed.SPARES[spares[n]],
            only_spares=bool(spares[n] >= 0),
        )


class _Designs:
    """Every different wish, built once: orders of the same wish share its `Design`."""

    def __init__(self) -> None:
        self._designs: dict[_Wish, Design] = {}
        self._temperaments = [named_temperament(name) for name in TEMPERAMENTS]

    def design(self, wish: _Wish) -> Design:
        """Return the design of a wish."""
        if wish not in self._designs:
            self._designs[wish] = self._build(wish)
        return self._designs[wish]

    def _build(self, wish: _Wish) -> Design:
        tonic = KEYS[wish.key]
        wants = wants_of(
            _changed(wish.changes).in_key(tonic),
            assumed.COMBS[wish.comb],
            self._temperaments[wish.temperament],
            tonic=tonic.pitch_class,
            a4_hz=assumed.A4_HZ[wish.standard],
        )
        by_name = {(want.hole, want.breath): want for want in wants}
        kit = tuple(KitWant(f"{hole} {breath}", by_name[hole, breath]) for hole, breath in wish.kit)
        return Design(seats=() if wish.only_spares else wants, kit=kit)


def _changed(changes: tuple[assumed.Change, ...]) -> Layout:
    moved = {(hole, breath): semitones for hole, breath, semitones in changes}
    seats = tuple(
        replace(seat, midi=seat.midi + moved.get((seat.hole, seat.breath), 0))
        for seat in STANDARD.seats
    )
    return Layout("changed", seats)
