"""What is left of the sets that the made-up workshop has cut up: its rack, bin by bin.

Nothing here was measured. How many sets of a key were bought and how fast each seat's plates go
are assumptions: the common keys are bought most, the draw reeds that wear out first go first, and
the rest stays behind in heaps. Random numbers come from a generator with a fixed seed, and only
from its `random()`, which Python promises to keep the same; so every machine makes the same rack.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from random import Random
from typing import Final

from combwright.allocation.stock import Bin
from combwright.comb.catalogue import catalogue_layout
from combwright.comb.seats import Breath, Mount, Seat
from combwright.notes.keys import parse_key

_SEED: Final = 20_261_124
#: Sets cut up so far, by key: of the plain, the notched and the dark batch.
_SETS: Final = {
    "C": (32, 17, 9), "A": (29, 15, 8), "G": (27, 14, 7), "D": (20, 11, 6), "Bb": (15, 8, 4),
    "F": (13, 7, 4), "E": (10, 5, 3), "Eb": (7, 5, 0), "B": (5, 0, 3), "Ab": (5, 4, 0),
    "Db": (4, 0, 3), "F#": (4, 3, 0),
}  # fmt: skip
#: Share of each seat's plates that has gone into instruments, kits and repairs, hole 1 first.
_GONE: Final[dict[Breath, tuple[float, ...]]] = {
    "blow": (0.60, 0.72, 0.78, 0.82, 0.76, 0.66, 0.46, 0.34, 0.24, 0.13),
    "draw": (0.66, 0.90, 0.87, 0.94, 0.96, 0.78, 0.54, 0.40, 0.29, 0.16),
}
_SPREAD: Final = 0.06
#: The slot of a plain plate of C, hole 1 first; plates of lower keys have a little longer ones.
_SLOTS_MM: Final = (16.1, 15.4, 14.7, 14.0, 13.2, 12.5, 11.7, 11.0, 10.2, 9.5)
_LONGER_A_SEMITONE_MM: Final = 0.01
_OFF_CENTS: Final = 2.0
_DRAWERS_A_RACK: Final = 10


@dataclass(frozen=True, slots=True)
class _Batch:
    """A batch's look, how its slots differ from the plain one's, and the price of a plate."""

    name: str
    longer_mm: float
    cost: Decimal
    all_front: bool = False


_BATCHES: Final = (
    _Batch("plain", 0.0, Decimal("1.95")),
    _Batch("notched", 0.3, Decimal("2.20")),
    _Batch("dark", -0.1, Decimal("2.45"), all_front=True),
)
#: Plates put back after a conversion or a repair: key, hole, breath, batch, cents, how many.
_PUT_BACK: Final[tuple[tuple[str, int, Breath, int, float, int], ...]] = (
    ("C", 5, "draw", 0, -38.0, 2), ("A", 3, "blow", 0, 21.5, 3), ("G", 2, "draw", 1, -24.0, 2),
    ("D", 7, "draw", 0, 33.5, 1), ("C", 8, "blow", 2, -17.5, 4), ("Bb", 4, "draw", 1, -41.0, 1),
    ("F", 6, "blow", 0, 12.5, 2), ("A", 7, "draw", 1, 46.0, 2), ("E", 2, "blow", 0, -29.5, 1),
)  # fmt: skip
#: Drawers' compartments kept out of every plan: key, hole, breath, batch (waiting for a check).
_HELD: Final = {("D", 8, "blow", 1), ("A", 9, "draw", 2)}


def rack_bins() -> tuple[Bin, ...]:
    """Return the bins of the made-up workshop, in the order of the walk; some are empty.

    A drawer holds one key of one batch, a compartment for each seat; the last drawer holds plates
    that were put back.
    """
    rng = Random(_SEED)
    drawers = [
        (key, number, sets)
        for key, bought in _SETS.items()
        for number, sets in enumerate(bought)
        if sets
    ]
    bins = [
        each
        for place, (key, number, sets) in enumerate(drawers)
        for each in _drawer(rng, _place(place), key, number, sets)
    ]
    return (*bins, *_put_back(_place(len(drawers))))


def _drawer(rng: Random, place: str, key: str, number: int, sets: int) -> Iterator[Bin]:
    for compartment, seat in enumerate(catalogue_layout("standard").seats, start=1):
        gone = _GONE[seat.breath][seat.hole - 1] + _SPREAD * (2 * rng.random() - 1)
        left = max(0, round(sets * (1 - gone)))
        cents = round(_OFF_CENTS * _bell(rng), 1) + 0.0  # minus zero becomes zero
        held = (key, seat.hole, seat.breath, number) in _HELD
        yield _bin(place, compartment, key, seat, number, cents, left, held=held)


def _put_back(place: str) -> Iterator[Bin]:
    seats = {(seat.hole, seat.breath): seat for seat in catalogue_layout("standard").seats}
    for compartment, (key, hole, breath, number, cents, count) in enumerate(_PUT_BACK, start=1):
        seat = seats[hole, breath]
        yield _bin(place, compartment, key, seat, number, cents, count)


def _bin(
    place: str,
    compartment: int,
    key: str,
    seat: Seat,
    number: int,
    cents: float,
    count: int,
    *,
    held: bool = False,
) -> Bin:
    batch, shift = _BATCHES[number], parse_key(key).shift
    usual: Mount = "front" if seat.breath == "blow" else "rear"
    slot_mm = _SLOTS_MM[seat.hole - 1] + batch.longer_mm - _LONGER_A_SEMITONE_MM * shift
    return Bin(
        code=f"{place}-{compartment:02}",
        midi=seat.midi + shift,
        cents=cents,
        slot_mm=round(slot_mm, 2),
        mount="front" if batch.all_front else usual,
        batch=batch.name,
        count=count,
        cost=batch.cost,
        walk=place,
        cut=f"{seat.hole} {seat.breath}",
        held=held,
    )


def _place(drawer: int) -> str:
    rack, number = divmod(drawer, _DRAWERS_A_RACK)
    return f"{'ABCD'[rack]}-{number + 1:02}"


def _bell(rng: Random) -> float:
    """Draw about a standard normal number, by sums alone: no two machines' sums differ."""
    return sum(rng.random() for _ in range(12)) - 6
