"""A plan's answer: which orders are ready, the plate of every seat, and what is missing."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from combwright.allocation.orders import Order, Want
from combwright.allocation.workshop import Way


@dataclass(frozen=True, slots=True)
class Placed:
    """A plate for one seat.

    Parameters
    ----------
    want : Want
        The seat and its target.
    bin : str
        The bin it comes from.
    batch : str
        Its batch.
    retune_cents : float
        Wanted pitch less the plate's: above 0 the reed must be raised.
    way : {"none", "file", "weight"}
        How; none within the workshop's free band.
    cost : Decimal
        Plate and labour.
    """

    want: Want
    bin: str
    batch: str
    retune_cents: float
    way: Way
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Kitted:
    """A plate of a kit: what it is for, and the plate."""

    label: str
    placed: Placed


@dataclass(frozen=True, slots=True)
class Made:
    """One copy of an order's row with all its plates; `seats` is empty for loose plates."""

    row: int
    copy: int
    seats: tuple[Placed, ...]
    kit: tuple[Kitted, ...]


@dataclass(frozen=True, slots=True)
class Served:
    """What the plan says of one order; an order that waits has no copies and no cost.

    `arrives` is the day its last expected plate comes in, None when all lie in the rack.
    """

    order: Order
    made: tuple[Made, ...] = ()
    cost: Decimal | None = None
    arrives: date | None = None

    @property
    def ready(self) -> bool:
        """Whether the order can be built in full now."""
        return self.cost is not None


@dataclass(frozen=True, slots=True)
class Reservation:
    """A plate set aside by an earlier plan.

    Parameters
    ----------
    order : str
        The order's number.
    row, copy : int
        Which copy of which row of the orders file.
    place : str
        `3 upper blow` for a seat, `kit 1` for the first plate of its kit.
    bin, batch : str
        Where the plate lies.
    """

    order: str
    row: int
    copy: int
    place: str
    bin: str
    batch: str


@dataclass(frozen=True, slots=True)
class Shortage:
    """A set of seats or parts that wants more than what serves it.

    Parameters
    ----------
    missing : int
        How many plates or parts the open orders want beyond what serves that set.
    pitches : tuple of str
        Note names, low to high.
    holes : tuple of int
        The holes in question.
    parts : tuple of str
        Names of parts, when it is parts that are missing.
    orders : tuple of str
        The orders that wait for it.
    text : str
        All that in a sentence.
    """

    missing: int
    pitches: tuple[str, ...]
    holes: tuple[int, ...]
    parts: tuple[str, ...]
    orders: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Buildable:
    """Whether one wish can be built now: its plates and their cost, or what is missing."""

    can: bool
    made: Made | None
    cost: Decimal | None
    missing: tuple[Shortage, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """Which orders ship and with which plates, and how good that is.

    Parameters
    ----------
    served : tuple of Served
        One for each order, in the order given.
    shortages : tuple of Shortage
        Largest first.
    value, value_bound : Decimal
        What the ready orders are worth, and what no plan can exceed: the priority classes summed,
        each with the earlier ones fixed.
    proven : bool
        Whether the value is proven the best, priority class by class.
    cost, cost_bound : Decimal
        Plates, parts and labour of the ready orders; and what no plan of that value can undercut.
    """

    served: tuple[Served, ...]
    shortages: tuple[Shortage, ...]
    value: Decimal
    value_bound: Decimal
    proven: bool
    cost: Decimal
    cost_bound: Decimal

    @property
    def gap(self) -> float:
        """How far the value may be below the best, as a share of the bound."""
        if not self.value_bound:
            return 0.0
        return float((self.value_bound - self.value) / self.value_bound)
