"""Sets that are not there yet, as plates that a plan may reckon with."""

from datetime import date
from decimal import Decimal

from combwright.allocation.stock import Bin as StockBin
from combwright.comb.catalogue import catalogue_layout
from combwright.comb.seats import Mount
from combwright.notes.keys import parse_key
from combwright.shop.designs.queries import usual_comb


def bins_of_set(key: str, sets: int, arrives: date, cost: Decimal) -> list[StockBin]:
    """Return the bins that some factory sets of a key would fill.

    Their slots are taken to be as long as the usual comb's chambers take them, hole by hole.

    Parameters
    ----------
    key : str
        As `G`.
    sets : int
        How many.
    arrives : date
        Orders due on that day or later may use them.
    cost : Decimal
        Of one plate.
    """
    comb = usual_comb()
    batch = f"expected {key} {arrives.isoformat()}"
    return [
        StockBin(
            code=f"{batch} {number}",
            midi=seat.midi,
            cents=0.0,
            slot_mm=comb.takes_mm(seat.hole),
            mount=_mount(seat.breath),
            batch=batch,
            count=sets,
            cost=cost,
            cut=f"{seat.hole} {seat.breath}",
            arrives=arrives,
        )
        for number, seat in enumerate(catalogue_layout("standard").in_key(parse_key(key)).seats, 1)
    ]


def _mount(breath: str) -> Mount:
    # Draw plates are usually riveted at the rear end, blow plates at the front: common practice.
    return "front" if breath == "blow" else "rear"
