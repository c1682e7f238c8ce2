"""What the racks hold: bins of plates, and parts."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import MappingProxyType

from combwright.comb.seats import Mount
from combwright.errors import CombwrightError
from combwright.notes.pitch import millicents


class BadStock(CombwrightError):
    """A rack that cannot be: a negative count, two bins of one name."""


@dataclass(frozen=True, slots=True)
class Bin:
    """A bin: some plates of one kind and one batch.

    Parameters
    ----------
    code : str
        The bin's name, unique in the rack.
    midi, cents : int, float
        Nominal note, and the measured mean offset from it at A4 = 440 Hz, in cents.
    slot_mm : float
        Measured length of the slot; decides the fit.
    mount : {"front", "rear"}
        The riveted end.
    batch : str
        Plates of one batch look alike.
    count : int
        How many plates lie in it.
    cost : Decimal
        Of one plate.
    walk : str
        Place on the walk through the racks; sorted naturally, so that A-9 comes before A-10.
    cut : str
        The hole the plates were made for; only informs.
    held : bool
        Kept out of every plan.
    arrives : date or None
        None for plates in the rack; expected plates serve only orders due on that day or later,
        or undated ones.
    """

    code: str
    midi: int
    cents: float
    slot_mm: float
    mount: Mount
    batch: str
    count: int
    cost: Decimal = Decimal(0)
    walk: str = ""
    cut: str = ""
    held: bool = False
    arrives: date | None = None

    @property
    def pitch_mc(self) -> int:
        """The plates' absolute pitch in thousandths of a cent."""
        return millicents(self.midi, self.cents)


@dataclass(frozen=True, slots=True)
class Part:
    """A thing an instrument needs besides plates: a comb, a cover, a screw, a gasket."""

    name: str
    count: int
    cost: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Stock:
    """Everything a plan may draw on.

    Parameters
    ----------
    bins : tuple of Bin
        In file order.
    parts : mapping of str to Part, or None
        None says that parts are not counted: then only plates decide what is ready.
    """

    bins: tuple[Bin, ...] = ()
    parts: Mapping[str, Part] | None = field(default=None)

    def __post_init__(self) -> None:
        seen: set[str] = set()
        for each in self.bins:
            if each.code in seen:
                raise BadStock(f"Bin {each.code!r} stands in the rack twice; give it one row.")
            if each.count < 0:
                raise BadStock(f"Bin {each.code!r} holds {each.count} plates; 0 is the least.")
            seen.add(each.code)
        if self.parts is not None:
            object.__setattr__(self, "parts", MappingProxyType(dict(self.parts)))
