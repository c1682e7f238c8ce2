"""What the rack has for a wish: plates and parts that nothing is set aside of, and each seat's own.

Whole bins are never counted and the ledger is never read: a bin knows what it holds and what is set
aside of it, so that 2,000 reserved orders cost no more than none.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from django.db.models import F, Q

from combwright.allocation.answer import Placed
from combwright.allocation.eligible import reach
from combwright.allocation.orders import Want
from combwright.allocation.stock import Bin as StockBin
from combwright.allocation.stock import Part
from combwright.allocation.workshop import Workshop
from combwright.comb.fit import accepts
from combwright.notes.pitch import MILLICENTS_PER_SEMITONE
from combwright.shop.rack.models import MICRONS_PER_MM, MILLICENTS_PER_CENT, Bin, Item

How = Literal["rack", "retune", "missing"]
_FIELDS: Final = (
    "code", "midi", "millicents", "slot_um", "mount", "batch__code", "count", "aside", "cost",
    "walk", "cut",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Supply:
    """Where the plate of a seat would come from.

    Parameters
    ----------
    want : Want
        The seat and its target.
    how : {"rack", "retune", "missing"}
        As it lies in the rack, after a retune, or from nowhere.
    bin : str
        The bin's name; empty where it is missing.
    cents : float
        By how much it is to be retuned; above 0 raised.
    """

    want: Want
    how: How
    bin: str = ""
    cents: float = 0.0


def unclaimed_bins(wants: Iterable[Want], workshop: Workshop) -> tuple[StockBin, ...]:
    """Return the bins that some seat could use, with the plates nothing is set aside of; one query.

    Bins that are held are left out, as in every plan.
    """
    near = Q(pk__in=())
    for low, high in _stretches(wants, workshop):
        near |= Q(pitch__range=(low, high))
    found = (
        Bin.objects.alias(pitch=F("midi") * MILLICENTS_PER_SEMITONE + F("millicents"))
        .filter(near, count__gt=F("aside"), held=False, batch__held=False)
        .order_by("walk", "code")
    )
    return tuple(_stock(row) for row in found.values_list(*_FIELDS))


def unclaimed_parts() -> dict[str, Part] | None:
    """Return the parts that nothing is set aside of; None while the shop keeps no parts; a query.

    Of one part from several places the dearest price counts: no cost is promised too low.
    """
    items = Item.objects.filter(kind=Item.PART).values_list(
        "part", "count", "aside", "held", "cost"
    )
    parts: dict[str, Part] = {}
    for name, count, aside, held, cost in items:
        known = parts.get(name, Part(name, 0, cost))
        free = 0 if held else count - aside
        parts[name] = Part(name, known.count + free, max(known.cost, cost))
    return parts or None


def supplies(
    wants: Sequence[Want], bins: Sequence[StockBin], workshop: Workshop
) -> tuple[Supply, ...]:
    """Say for each seat where its plate would come from, no plate being used twice.

    As many seats as can be have a plate; each takes the nearest pitch that leaves the others theirs
    where there is a choice. A plan weighs costs beside that and may choose otherwise.
    """
    choices = [_choices(want, bins, workshop) for want in wants]
    held: dict[int, list[int]] = {}  # bin to the seats that take from it
    for seat in range(len(wants)):
        _seated(seat, choices, bins, held, set())
    taken = {seat: place for place, seats in held.items() for seat in seats}
    return tuple(
        _supply(want, bins[taken[n]] if n in taken else None, workshop)
        for n, want in enumerate(wants)
    )


def placed_supply(placed: Placed) -> Supply:
    """Return what a plan's plate means for its seat."""
    how: How = "rack" if placed.way == "none" else "retune"
    return Supply(placed.want, how, placed.bin, placed.retune_cents)


def _seated(
    seat: int,
    choices: Sequence[Sequence[int]],
    bins: Sequence[StockBin],
    held: dict[int, list[int]],
    seen: set[int],
) -> bool:
    """Give a seat a plate, moving others to their next choices where that makes room."""
    for place in choices[seat]:
        if place in seen:
            continue
        seen.add(place)
        takers = held.setdefault(place, [])
        if len(takers) < bins[place].count:
            takers.append(seat)
            return True
        for other in takers:
            if _seated(other, choices, bins, held, seen):
                takers[takers.index(other)] = seat
                return True
    return False


def _choices(want: Want, bins: Sequence[StockBin], workshop: Workshop) -> list[int]:
    """Return the places of the bins that a seat may take from, the nearest pitch first."""
    up, down = reach(workshop)
    pitch = want.pitch_mc
    fitting = (
        (abs(pitch - each.pitch_mc), place)
        for place, each in enumerate(bins)
        if -down <= pitch - each.pitch_mc <= up
        and each.slot_mm <= want.takes_mm
        and accepts(want.mount, each.mount)
    )
    return [place for _far, place in sorted(fitting)]


def _supply(want: Want, plate: StockBin | None, workshop: Workshop) -> Supply:
    if plate is None:
        return Supply(want, "missing")
    cents = (want.pitch_mc - plate.pitch_mc) / MILLICENTS_PER_CENT
    near = abs(cents) <= workshop.retune.free_cents
    return Supply(want, "rack" if near else "retune", plate.code, cents)


def _stretches(wants: Iterable[Want], workshop: Workshop) -> Iterator[tuple[int, int]]:
    """Give the pitches that some seat could use as few stretches, in thousandths of a cent."""
    up, down = reach(workshop)
    low: int | None = None
    high = 0
    for pitch in sorted({want.pitch_mc for want in wants}):
        if low is None or pitch - up > high:
            if low is not None:
                yield low, high
            low = pitch - up
        high = pitch + down
    if low is not None:
        yield low, high


def _stock(row: tuple[Any, ...]) -> StockBin:
    code, midi, millicents, slot_um, mount, batch, count, aside, cost, walk, cut = row
    return StockBin(
        code=code, midi=midi, cents=millicents / MILLICENTS_PER_CENT,
        slot_mm=slot_um / MICRONS_PER_MM, mount="front" if mount == "front" else "rear",
        batch=batch, count=count - aside, cost=cost, walk=walk, cut=cut,
    )  # fmt: skip
