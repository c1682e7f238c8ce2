"""Combs: chambers of a measured size, and what each deck accepts."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, Literal

from combwright.comb.seats import MOST_HOLES, Deck, NoSuchHole
from combwright.errors import CombwrightError

MountRule = Literal["any", "front", "rear"]
MOUNT_RULES: Final[tuple[MountRule, ...]] = ("any", "front", "rear")


class BadComb(CombwrightError):
    """A comb that cannot be."""


@dataclass(frozen=True, slots=True)
class Chamber:
    """The hollow behind one hole, in millimetres."""

    length_mm: float
    width_mm: float
    depth_mm: float


@dataclass(frozen=True, slots=True)
class DeckRule:
    """What one deck accepts: the mounted end of its plates, and the room under its cover."""

    mount: MountRule = "any"
    cover_clear_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Comb:
    """A comb of 1 to 16 chambers, each with an upper and a lower seat.

    Parameters
    ----------
    title : str
        As the workshop calls it.
    chambers : tuple of Chamber
        From hole 1.
    end_margin_mm : float
        How much of a chamber's length no slot may use.
    upper, lower : DeckRule
        What each deck accepts.
    parts : mapping of str to int
        What one instrument uses besides plates: `{"cover": 2, "screw": 4}`.
    """

    title: str
    chambers: tuple[Chamber, ...]
    end_margin_mm: float = 0.0
    upper: DeckRule = DeckRule()
    lower: DeckRule = DeckRule()
    parts: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        if not 1 <= len(self.chambers) <= MOST_HOLES:
            raise BadComb(
                f"A comb has 1 to {MOST_HOLES} chambers; {self.title!r} has {len(self.chambers)}."
            )

    @property
    def holes(self) -> int:
        """How many chambers there are."""
        return len(self.chambers)

    def deck(self, deck: Deck) -> DeckRule:
        """Return what a deck accepts."""
        return self.upper if deck == "upper" else self.lower

    def takes_mm(self, hole: int) -> float:
        """Return the longest slot a chamber takes, in millimetres.

        Raises
        ------
        NoSuchHole
            If the comb has no such hole.
        """
        if not 1 <= hole <= self.holes:
            raise NoSuchHole(hole, self.holes)
        # Millimetres are given to a hundredth; the rounding keeps 13.0 - 0.2 from being 12.8 less
        # a hair, which would refuse a slot of exactly 12.8.
        return round(self.chambers[hole - 1].length_mm - self.end_margin_mm, 6)
