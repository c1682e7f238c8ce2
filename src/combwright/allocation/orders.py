"""What is wanted: seats with their target pitch, instruments, kits and the orders they ship in.

A plan knows seats and never wishes: whoever reads an order turns key, layout, changes, temperament
and pitch standard into `Want`s first (`wants_of`).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from combwright.comb.combs import Comb, MountRule
from combwright.comb.layouts import Layout
from combwright.comb.seats import Breath, Deck, Facing, Seat
from combwright.errors import CombwrightError
from combwright.notes.names import note_name
from combwright.notes.pitch import a4_cents, millicents
from combwright.notes.temperament import Temperament

ORDINARY_PRIORITY: Final = 5


class BadOrders(CombwrightError):
    """Orders that cannot be: an order's copies that disagree, a layout wider than its comb."""


@dataclass(frozen=True, slots=True)
class Want:
    """One plate wanted: its pitch and where it must fit.

    Parameters
    ----------
    hole, deck, breath
        The seat it is for.
    midi : int
        The note's name as a MIDI number.
    cents : float
        Offset of the wanted pitch from equal temperament at A4 = 440 Hz: temperament, pitch
        standard and the seat's own cents together.
    takes_mm : float
        The longest slot the seat takes.
    mount : {"any", "front", "rear"}
        What the deck accepts.
    """

    hole: int
    deck: Deck
    breath: Breath
    midi: int
    cents: float
    takes_mm: float
    mount: MountRule = "any"

    @property
    def pitch_mc(self) -> int:
        """The wanted absolute pitch in thousandths of a cent."""
        return millicents(self.midi, self.cents)

    @property
    def note(self) -> str:
        """The name of the note."""
        return note_name(self.midi)

    @property
    def facing(self) -> Facing:
        """Where the reed looks."""
        return "in" if self.breath == "blow" else "out"


@dataclass(frozen=True, slots=True)
class KitWant:
    """A spare plate that goes along: what the customer calls it, and the plate."""

    label: str
    want: Want


@dataclass(frozen=True, slots=True)
class Design:
    """One thing to ship: an instrument with its kit, or loose plates only.

    Share one object among all copies of the same wish; the planner's speed rests on it.

    Parameters
    ----------
    seats : tuple of Want
        The instrument's seats; empty for loose plates.
    kit : tuple of KitWant
        The plates that go along.
    parts : mapping of str to int
        What one copy uses besides plates.
    title : str
        What people call it: `Key of A, third blow raised`. No plan depends on it.
    comb : Comb or None
        What it is built on, for those who draw it; None for an unnamed one.
    """

    seats: tuple[Want, ...] = ()
    kit: tuple[KitWant, ...] = ()
    parts: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    title: str = ""
    comb: Comb | None = None


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy of a row of the orders file."""

    row: int
    copy: int
    design: Design


@dataclass(frozen=True, slots=True)
class Order:
    """Copies that ship together, complete or not at all.

    Parameters
    ----------
    name : str
        The order's number. The copies of an order that may ship alone are orders of one copy
        each that share the name.
    copies : tuple of Copy
        At least one.
    value : Decimal
        What shipping it is worth, 0 or more.
    priority : int
        1 is served first.
    promised : bool
        Served whatever else waits.
    due : date or None
        Of identical orders the earlier due is served first, undated ones last.
    split : bool
        Whether this is one copy of an order that ships in parts.
    """

    name: str
    copies: tuple[Copy, ...]
    value: Decimal = Decimal(1)
    priority: int = ORDINARY_PRIORITY
    promised: bool = False
    due: date | None = None
    split: bool = False

    def __post_init__(self) -> None:
        if not self.copies:
            raise BadOrders(f"Order {self.name!r} is empty; it needs at least one instrument.")
        if self.value < 0:
            raise BadOrders(f"Order {self.name!r} has the value {self.value}; 0 is the least.")


def wants_of(
    layout: Layout, comb: Comb, temperament: Temperament, *, tonic: int, a4_hz: float = 440.0
) -> tuple[Want, ...]:
    """Turn a layout, already in its key and changed, into the plates that its seats want.

    Parameters
    ----------
    layout : Layout
        Sounding pitches.
    comb : Comb
        Where the plates must fit.
    temperament, tonic
        Cents around equal temperament, from the tonic's pitch class.
    a4_hz : float
        Pitch standard, 415 to 466 Hz.

    Raises
    ------
    BadOrders
        If the layout has reeds beyond the comb's holes.
    BadPitchStandard
        If the pitch standard is out of range.
    """
    beyond = [seat.hole for seat in layout.seats if seat.hole > comb.holes]
    if beyond:
        raise BadOrders(
            f"Layout {layout.title!r} has a reed in hole {beyond[0]}, but comb {comb.title!r} "
            f"has {comb.holes} holes."
        )
    shift = a4_cents(a4_hz)
    return tuple(want_of(seat, comb, temperament, tonic, shift) for seat in layout.seats)


def want_of(
    seat: Seat, comb: Comb, temperament: Temperament, tonic: int, shift_cents: float
) -> Want:
    """Turn one seat into the plate it wants; `shift_cents` is the pitch standard's."""
    tempered = temperament.offset(seat.midi, tonic, seat.hole, seat.breath)
    return Want(
        hole=seat.hole,
        deck=seat.deck,
        breath=seat.breath,
        midi=seat.midi,
        cents=round(tempered + seat.cents + shift_cents, 3),
        takes_mm=comb.takes_mm(seat.hole),
        mount=comb.deck(seat.deck).mount,
    )
