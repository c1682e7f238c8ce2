"""What a build sheet says of one order: its copies, their plates, where each comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from combwright.allocation.answer import Placed
from combwright.comb.combs import Comb
from combwright.comb.seats import Mount
from combwright.sheets.plates import DrawnPlate


@dataclass(frozen=True, slots=True)
class PlateLine:
    """A plate on a sheet: where it goes, and what its bin says of it (None: bin not known)."""

    placed: Placed
    mount: Mount | None = None
    slot_mm: float | None = None

    @property
    def drawn(self) -> DrawnPlate:
        """The plate as drawn."""
        w = self.placed.want
        return DrawnPlate(w.hole, w.deck, w.facing, w.midi, w.cents, self.mount, self.slot_mm)


@dataclass(frozen=True, slots=True)
class KitLine:
    """A plate that goes along: what the customer calls it, and the plate."""

    label: str
    plate: PlateLine


@dataclass(frozen=True, slots=True)
class CopySheet:
    """One copy of an order's row: an instrument with its kit, or loose plates.

    Parameters
    ----------
    row, copy : int
        Which one.
    comb : Comb
        What it is built on.
    seats : tuple of PlateLine
        Empty for loose plates.
    kit : tuple of KitLine
        The plates that go along.
    parts : mapping of str to int
        What it uses besides plates.
    wish : str
        Key, layout and changes in a line, when known.
    """

    row: int
    copy: int
    comb: Comb
    seats: tuple[PlateLine, ...]
    kit: tuple[KitLine, ...] = ()
    parts: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    wish: str = ""


@dataclass(frozen=True, slots=True)
class OrderSheet:
    """An order for the bench; what it is worth is none of its business.

    Parameters
    ----------
    order : str
        The order's number, held by the QR code as well.
    copies : tuple of CopySheet
        At least one.
    due, priority, promised
        As ordered.
    arrives : date or None
        The day the last plate comes in, None when all lie in the rack.
    part : str
        Which part of an order that ships in parts, else empty.
    """

    order: str
    copies: tuple[CopySheet, ...]
    due: date | None = None
    priority: int = 5
    promised: bool = False
    arrives: date | None = None
    part: str = ""
