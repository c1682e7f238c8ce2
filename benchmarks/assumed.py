"""What the made-up shops assume of the trade: which keys, wishes, prices, batches and slots.

None of it was measured, except the standard layout, which is published.
"""

from decimal import Decimal
from typing import Final

from combwright.comb.combs import Chamber, Comb
from combwright.comb.seats import Breath

#: Semitones above the root, hole 1 blow, hole 1 draw, hole 2 blow and so on: OEIS A291810.
A291810: Final = (0, 2, 4, 7, 7, 11, 12, 14, 16, 17, 19, 21, 24, 23, 28, 26, 31, 29, 36, 33)
C4: Final = 60
Change = tuple[int, Breath, int]  # hole, breath, semitones

#: Of ORDINARY_KEYS, in that order: a few keys are most of the trade.
KEY_SHARES: Final = (0.11, 0.03, 0.18, 0.09, 0.02, 0.24, 0.02, 0.13, 0.05, 0.05, 0.06, 0.02)
LAYOUTS: Final[tuple[tuple[Change, ...], ...]] = (
    (),
    ((5, "draw", 1),),
    ((3, "blow", 2),),
    ((2, "blow", -1), (3, "draw", -1), (5, "blow", -1), (7, "draw", -1), (8, "blow", -1)),
)
#: The last share is for one to three reeds changed at random.
LAYOUT_SHARES: Final = (0.47, 0.23, 0.14, 0.08, 0.08)
TEMPERAMENT_SHARES: Final = (0.6, 0.1, 0.15, 0.15)
KITS: Final[tuple[tuple[tuple[int, Breath], ...], ...]] = (
    (),
    ((5, "draw"),),
    ((5, "draw"), (4, "draw")),
)
KIT_SHARES: Final = (0.8, 0.13, 0.07)
#: Orders for spare plates only: which, how often, and what they are worth.
SPARES: Final[tuple[tuple[tuple[int, Breath], ...], ...]] = (
    ((5, "draw"),),
    ((4, "draw"),),
    ((5, "draw"), (4, "draw")),
    ((2, "draw"), (8, "blow"), (5, "draw")),
)
SPARES_SHARE: Final = 0.22
QUANTITIES: Final = (1, 2, 3)
QUANTITY_SHARES: Final = (0.92, 0.06, 0.02)
INSTRUMENT_VALUES: Final = (4, 6, 8, 12, 16, 24)
INSTRUMENT_VALUE_SHARES: Final = (0.28, 0.24, 0.2, 0.14, 0.09, 0.05)
SPARES_VALUES: Final = (1, 2)
#: How much of a seat's plates is used up before an order book is planned, by (hole, breath).
USED_UP: Final = {(5, "draw"): 0.7, (4, "draw"): 0.65, (3, "blow"): 0.5, (2, "draw"): 0.5}
BATCHES: Final = ("b1", "b2", "b3")
BATCH_SHARES: Final = (0.5, 0.3, 0.2)
BIN_HOLDS: Final = 60
CHAMBERS_MM: Final = (18.4, 17.6, 16.8, 16.0, 15.2, 14.4, 13.6, 12.8, 12.0, 11.2)
COMBS: Final = tuple(
    Comb(title, tuple(Chamber(mm + longer, 4.8, 5.0) for mm in CHAMBERS_MM), 0.4)
    for title, longer in (("assumed", 0.0), ("assumed long", 1.6))
)
COMB_SHARES: Final = (0.8, 0.2)
A4_HZ: Final = (440.0, 442.0, 443.0)
A4_SHARES: Final = (0.8, 0.15, 0.05)


def slot_mm(hole: int, batch: int) -> float:
    """Slots of the first two batches may move two chambers up, those of the third only one."""
    return round(CHAMBERS_MM[hole - 1] - (2.1, 2.0, 1.4)[batch], 2)


def plate_cost(key: int, batch: int) -> Decimal:
    """Later batches and rarer keys were dearer."""
    return Decimal(180 + 15 * batch + 4 * key) / 100
