"""What swaps can be made of: plates of a rack, an owner's kit, and plates that are taken out.

A rack's plates count as in every plan: in the rack today, not held, fitting by slot, chamber and
mount, retuned within the workshop's limits. An owner's plates are taken as they are: they serve the
note that they sound, in seats where they are sure to fit. An owner also has the plates that the
swaps themselves take out; a rack has not, since there the instrument is yet to be built.
"""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from combwright.allocation.eligible import reach
from combwright.allocation.orders import Want, want_of
from combwright.allocation.stock import Bin
from combwright.allocation.substitutes import substitutes
from combwright.allocation.workshop import Workshop
from combwright.comb.chamber import sounding_midi
from combwright.comb.combs import Comb
from combwright.comb.seats import Deck, Seat
from combwright.notes.names import note_text
from combwright.notes.pitch import STANDARD_A4_HZ, a4_cents
from combwright.notes.temperament import EQUAL, Temperament
from combwright.playing.supply import Plates, Supply, Use
from combwright.playing.swap_sets import Swap, SwapSpace

Kit = Sequence[tuple[str, Seat]]
_USUAL: Final = Workshop()


@dataclass(frozen=True, slots=True)
class Tuning:
    """What an instrument is tuned to: a temperament from a pitch class up, and a pitch standard."""

    temperament: Temperament = EQUAL
    tonic: int = 0
    a4_hz: float = STANDARD_A4_HZ


_PLAIN: Final = Tuning()


def limited(space: SwapSpace, supply: Supply) -> SwapSpace:
    """Keep the swaps that there are plates for, and never more than there are."""
    swaps = tuple(tuple(s for s in found if supply.uses.get(s)) for found in space.swaps)
    return replace(space, swaps=swaps, stock=supply)


def from_rack(
    space: SwapSpace, bins: Sequence[Bin], comb: Comb, workshop: Workshop = _USUAL
) -> SwapSpace:
    """Keep the swaps that a rack can supply."""
    return limited(space, rack_supply(space, bins, comb, workshop))


def rack_supply(
    space: SwapSpace,
    bins: Sequence[Bin],
    comb: Comb,
    workshop: Workshop = _USUAL,
    tuning: Tuning = _PLAIN,
) -> Supply:
    """Return the plates of a rack that serve swaps: those `can` and `plan` would take.

    Parameters
    ----------
    space : SwapSpace
        The swaps in question.
    bins : sequence of Bin
        Empty and held bins, and plates that are yet to come, are left out.
    comb : Comb
        Where they must fit.
    workshop : Workshop
        How far plates may be retuned, and what that costs.
    tuning : Tuning
        What the new reeds are tuned to.
    """
    numbers = {each.code: n for n, each in enumerate(bins)}
    free = sorted((b for b in bins if b.count and not b.held and b.arrives is None),
                  key=lambda b: b.pitch_mc)  # fmt: skip
    pitches, (up, down) = [each.pitch_mc for each in free], reach(workshop)
    uses = {}
    for swap in (swap for found in space.swaps for swap in found):
        want = _want(swap, comb, tuning)
        near = free[bisect_left(pitches, want.pitch_mc - up) :
                    bisect_right(pitches, want.pitch_mc + down)]  # fmt: skip
        uses[swap] = tuple(
            Use(numbers[each.bin], each.retune_cents, each.way, each.cost)
            for each in substitutes(want, near, workshop, most=len(near))
        )
    plates = tuple(Plates("rack", each.code, each.count) for each in bins)
    return Supply(plates, MappingProxyType(uses))


def with_kit(space: SwapSpace, kit: Kit) -> SwapSpace:
    """Add the swaps that kit plates make in the seats they were made for, however far they move.

    A plate for an empty seat makes no swap: empty seats stay empty.
    """
    made_for: dict[tuple[int, Deck], set[int]] = {}
    for _, plate in kit:
        made_for.setdefault((plate.hole, plate.deck), set()).add(sounding_midi(plate))
    many = Counter((seat.hole, seat.breath) for seat in space.layout.seats)
    swaps = []
    for seat, found in zip(space.layout.seats, space.swaps, strict=True):
        beside = many[seat.hole, seat.breath] > 1
        more = made_for.get((seat.hole, seat.deck), set()) - {seat.midi}
        every = {*found, *(Swap(seat, midi, beside) for midi in more)}
        swaps.append(tuple(sorted(every, key=lambda swap: swap.midi)))
    return replace(space, swaps=tuple(swaps))


def kit_supply(space: SwapSpace, kit: Kit, comb: Comb) -> Supply:
    """Return the plates of an owner: those of a kit, and those that swaps take out.

    Parameters
    ----------
    space : SwapSpace
        The swaps in question.
    kit : sequence of (str, Seat)
        As `kit_seats` returns it: what each plate is called, and the seat it was made for.
    comb : Comb
        Of the instrument.

    Notes
    -----
    Nobody measured these plates. One is sure to fit where the chamber is no shorter than the one it
    was made for and the deck takes whatever mount the other deck does.
    """
    plates = [Plates("kit", _named(label, seat)) for label, seat in kit]
    plates += [Plates("seat", _place(seat), out_of=seat) for seat in space.layout.seats]
    made_for = [*(seat for _, seat in kit), *space.layout.seats]
    uses = {
        swap: tuple(Use(n) for n, seat in enumerate(made_for) if _serves(seat, swap, comb))
        for found in space.swaps
        for swap in found
    }
    return Supply(tuple(plates), MappingProxyType(uses))


def _want(swap: Swap, comb: Comb, tuning: Tuning) -> Want:
    seat = replace(swap.seat, midi=swap.midi, cents=0.0)
    return want_of(seat, comb, tuning.temperament, tuning.tonic, a4_cents(tuning.a4_hz))


def _serves(made_for: Seat, swap: Swap, comb: Comb) -> bool:
    here, there = comb.deck(made_for.deck).mount, comb.deck(swap.seat.deck).mount
    return (
        sounding_midi(made_for) == swap.midi
        and comb.takes_mm(made_for.hole) <= comb.takes_mm(swap.seat.hole)
        and (there == "any" or there == here)
    )


def _named(label: str, seat: Seat) -> str:
    return f"{label}={note_text(seat.midi, seat.cents)}"


def _place(seat: Seat) -> str:
    return f"{seat.hole} {seat.breath}"
