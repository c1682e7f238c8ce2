"""Which reeds may be swapped for which, and every set of so many swaps."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import Protocol

from combwright.comb.chamber import sounding_midi
from combwright.comb.layouts import Layout
from combwright.comb.seats import Seat
from combwright.notes.names import note_name


@dataclass(frozen=True, slots=True)
class Swap:
    """One reed changed for another: the seat as it is, and the note it gets.

    `beside` says that the other reed of the hole has the same breath, so that the deck tells them
    apart.
    """

    seat: Seat
    midi: int
    beside: bool = False

    @property
    def text(self) -> str:
        """The change as the maker writes it, `3 blow=A4`."""
        hole, note = self.seat.hole, note_name(self.midi)
        if self.beside:
            return f"{hole} {self.seat.deck}={note} {self.seat.breath}"
        return f"{hole} {self.seat.breath}={note}"


def all_swaps(layout: Layout, by: int) -> tuple[tuple[Swap, ...], ...]:
    """Return for each reed of a layout its swaps, up to `by` semitones down and up."""
    steps = [step for step in range(-by, by + 1) if step]
    many = Counter((seat.hole, seat.breath) for seat in layout.seats)
    return tuple(
        tuple(Swap(seat, seat.midi + step, many[seat.hole, seat.breath] > 1) for step in steps)
        for seat in layout.seats
    )


def swap_space(layout: Layout, by: int) -> "SwapSpace":
    """Return a layout with all swaps of its reeds, up to `by` semitones down and up.

    A reed is named as it sounds, so that F5+100 is F#5 and its swaps are counted from there.
    """
    seats = tuple(
        replace(seat, midi=(midi := sounding_midi(seat)),
                cents=round(seat.cents - 100 * (midi - seat.midi), 3))
        for seat in layout.seats
    )  # fmt: skip
    named = replace(layout, seats=seats)
    return SwapSpace(named, all_swaps(named, by))


def swapped(layout: Layout, swaps: Sequence[Swap]) -> Layout:
    """Return a layout with reeds swapped; the new ones have no cents of their own."""
    new = {swap.seat: replace(swap.seat, midi=swap.midi, cents=0.0) for swap in swaps}
    seats = tuple(new.get(seat, seat) for seat in layout.seats)
    return replace(layout, seats=seats)


class Stock(Protocol):
    """What plates there are to swap in."""

    def serves(self, chosen: Sequence[Swap]) -> bool:
        """Tell whether every swap can have a plate of its own."""

    def count(self, swaps: Sequence[Sequence[Swap]], size: int) -> int:
        """Return how many sets of so many swaps, no two in one seat, are served."""


@dataclass(frozen=True, slots=True)
class SwapSpace:
    """Every set of swaps as a row of hole variants.

    Parameters
    ----------
    layout : Layout
        The base.
    swaps : tuple of tuple of Swap
        For each seat, in the layout's order; empty where nothing may be swapped.
    stock : Stock or None
        The plates there are to swap in; None for as many as wanted.
    """

    layout: Layout
    swaps: tuple[tuple[Swap, ...], ...]
    stock: Stock | None = None

    def count(self, most: int) -> int:
        """Return how many sets of exactly so many swaps there are, stock aside."""
        sizes = [0] * (most + 1)
        sizes[0] = 1
        for found in self.swaps:
            for k in range(most, 0, -1):
                sizes[k] += sizes[k - 1] * len(found)
        return sizes[most]

    def sets(self, size: int) -> Iterator[tuple[Swap, ...]]:
        """Yield every set of exactly so many swaps, in the order of its seats and notes."""
        for seats in combinations([found for found in self.swaps if found], size):
            for chosen in product(*seats):
                if self.supplied(chosen):
                    yield chosen

    def supplied(self, chosen: Sequence[Swap]) -> bool:
        """Tell whether there are plates for all of some swaps at once."""
        return self.stock is None or self.stock.serves(chosen)
