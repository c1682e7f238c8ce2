"""The published table: how many plates to measure by the size of the delivery.

Single plans for normal inspection at general level II, from a table in the public domain
[mil-std-105e]. It is indexed by the share of bad plates that is still acceptable. Along its
diagonals the same numbers return: a plan with a larger sample and a smaller share accepts with as
many bad plates.
"""

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from combwright.inspection.chances import BadPlan
from combwright.inspection.plans import Plan

#: Letter, the largest delivery it is for at level II, and the sample.
_LETTERS: Final = (
    ("A", 8, 2), ("B", 15, 3), ("C", 25, 5), ("D", 50, 8), ("E", 90, 13), ("F", 150, 20),
    ("G", 280, 32), ("H", 500, 50), ("J", 1_200, 80), ("K", 3_200, 125), ("L", 10_000, 200),
    ("M", 35_000, 315), ("N", 150_000, 500), ("P", 500_000, 800), ("Q", None, 1_250),
)  # fmt: skip
#: Acceptable shares of bad plates, in percent.
SHARES: Final = tuple(Fraction(text) for text in ("0.65", "1.0", "1.5", "2.5", "4.0", "6.5", "10"))
_UP, _DOWN = "take the next smaller sample", "take the next larger sample"
#: Along a diagonal from the first plan that accepts with no bad plate.
_DIAGONAL: Final = (0, _UP, _DOWN, 1, 2, 3, 5, 7, 10, 14, 21)
#: Where that diagonal begins: letter F at 0.65 %.
_FIRST: Final = 5


@dataclass(frozen=True, slots=True)
class Lettered:
    """A plan out of the table, with its letter."""

    letter: str
    plan: Plan


def plan_by_letter(lot: int, percent: Fraction | str) -> Lettered:
    """Return the table's plan for a delivery.

    Parameters
    ----------
    lot : int
        Plates in the delivery, 2 or more.
    percent : Fraction or str
        The acceptable share of bad plates, one of `SHARES`.

    Raises
    ------
    BadPlan
        If the table has no such share, or no so small delivery.

    Notes
    -----
    Where the table's sample is as large as the delivery, every plate is measured.
    """
    share = Fraction(percent)
    if share not in SHARES:
        known = ", ".join(f"{float(each):g}" for each in SHARES)
        raise BadPlan(f"The table has no share of {float(share):g} %; it has {known}.")
    if lot < 2:
        raise BadPlan(f"The table begins with 2 plates; a delivery of {lot} is measured whole.")
    row = bisect_left([largest for _name, largest, _n in _LETTERS[:-1] if largest], lot)
    row, accept = _followed(row, SHARES.index(share))
    letter, _largest, sample = _LETTERS[row]
    return Lettered(letter, Plan(lot, min(sample, lot), accept))


def _followed(row: int, column: int) -> tuple[int, int]:
    """Follow the table's arrows from a row to one that holds a number."""
    way = 0
    while True:
        place = row + column - _FIRST
        if place < 0:
            way = 1
        elif place >= len(_DIAGONAL):
            way = -1
        else:
            said = _DIAGONAL[place]
            if isinstance(said, int):
                return row, said
            # Above the smallest sample there is none; the only way on is down.
            way = -1 if said == _UP and row > 0 else 1
        row += way
