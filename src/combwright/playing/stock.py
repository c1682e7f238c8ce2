"""Which swaps a rack can supply: plates of the right note that fit the seat and are not held."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from combwright.allocation.stock import Bin
from combwright.comb.combs import Comb
from combwright.comb.fit import fit
from combwright.playing.swap_sets import Supply, Swap, SwapSpace

#: A plate counts as its note when it lies within this of it, in cents: filing puts that right.
NEAR_CENTS: Final = 50.0


def from_rack(space: SwapSpace, bins: Sequence[Bin], comb: Comb) -> SwapSpace:
    """Keep the swaps for which the rack holds a plate, and never more than it holds.

    A plate fits as in every plan: by its slot, the chamber, and the mount.
    """
    plates = {
        n: each
        for n, each in enumerate(bins)
        if not each.held and each.arrives is None and each.count and abs(each.cents) <= NEAR_CENTS
    }
    serving = {
        swap: tuple(n for n, each in plates.items() if _serves(each, swap, comb))
        for found in space.swaps
        for swap in found
    }
    swaps = tuple(tuple(swap for swap in found if serving[swap]) for found in space.swaps)
    return replace(
        space, swaps=swaps, stock=Supply(serving, {n: each.count for n, each in plates.items()})
    )


def _serves(plate: Bin, swap: Swap, comb: Comb) -> bool:
    seat = swap.seat
    return (
        plate.midi == swap.midi and fit(plate.slot_mm, plate.mount, comb, seat.hole, seat.deck).fits
    )
