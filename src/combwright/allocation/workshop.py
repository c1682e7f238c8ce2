"""The workshop's numbers: how far a reed may be retuned, in which way, and what that costs."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Way = Literal["none", "file", "weight"]


@dataclass(frozen=True, slots=True)
class Retune:
    """Filing: limits in cents, both inclusive, and what it costs.

    Parameters
    ----------
    raise_most_cents, lower_most_cents : float
        How far a reed may be filed up and down.
    free_cents : float
        Up to here a shift is touched up in the course of the work: it costs nothing and does not
        count as a retune.
    fixed, each_cent : Decimal
        Cost of a retune beyond `free_cents`: `fixed + each_cent x cents`.
    """

    raise_most_cents: float = 150.0
    lower_most_cents: float = 80.0
    free_cents: float = 3.0
    fixed: Decimal = Decimal("0.60")
    each_cent: Decimal = Decimal("0.02")


@dataclass(frozen=True, slots=True)
class Weight:
    """A removable weight on the tip, which only lowers; off while `lower_most_cents` is 0."""

    lower_most_cents: float = 0.0
    fixed: Decimal = Decimal(0)
    each_cent: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of labels: rows and columns, and its margins and gaps in millimetres."""

    rows: int = 8
    columns: int = 3
    top_mm: float = 12.0
    left_mm: float = 7.0
    gap_x_mm: float = 2.5
    gap_y_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Workshop:
    """Everything a workshop sets for itself."""

    retune: Retune = Retune()
    weight: Weight = Weight()
    labels: LabelSheet = LabelSheet()
    paper: Literal["A4", "letter"] = "A4"
    currency: str = "EUR"
