"""Temperaments: the cents around equal temperament, from whole-number ratios or from a table.

The tonic stays at its equal-temperament pitch; the other eleven notes follow from it. The three
just schemes differ in one note, the fourth, which gives each of them its name.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from combwright.errors import CombwrightError

_FOURTHS: Final = {"5-limit": "27/20", "7-limit": "21/16", "19-limit": "171/128"}
_RATIOS: Final = "1 135/128 9/8 6/5 5/4 {fourth} 45/32 3/2 8/5 27/16 9/5 15/8"
NAMES: Final = ("equal", *_FOURTHS)


class BadTemperament(CombwrightError):
    """A temperament that is not in the list, or a table that is none."""


@dataclass(frozen=True, slots=True)
class Temperament:
    """Cents from equal temperament by semitone above the tonic, and for single reeds beside that.

    Parameters
    ----------
    name : str
        As people call it.
    cents : tuple of 12 floats
        From the tonic upwards.
    reeds : mapping
        (hole, breath) to cents from equal temperament; such a reed ignores `cents`.
    """

    name: str
    cents: tuple[float, ...]
    # A mapping has no hash; leaving it out keeps a temperament usable as a key.
    reeds: Mapping[tuple[int, str], float] = field(
        default_factory=lambda: MappingProxyType({}), hash=False
    )

    def __post_init__(self) -> None:
        if len(self.cents) != 12:
            raise BadTemperament(
                f"A temperament has twelve numbers, one a semitone from the tonic; "
                f"{self.name!r} has {len(self.cents)}."
            )

    def offset(self, midi: int, tonic: int, hole: int = 0, breath: str = "") -> float:
        """Return the cents of a note of a reed, the tonic given as a pitch class or MIDI number."""
        return self.reeds.get((hole, breath), self.cents[(midi - tonic) % 12])


def ratio_cents(ratio: Fraction) -> float:
    """Return the size of an interval ratio in cents. Source: docs/sources.md, [ellis]."""
    return 1200 * math.log2(ratio.numerator / ratio.denominator)


def from_ratios(name: str, ratios: Sequence[Fraction]) -> Temperament:
    """Build a temperament from twelve ratios above the tonic, each within its own octave.

    Raises
    ------
    BadTemperament
        If there are not twelve.
    """
    return Temperament(name, tuple(ratio_cents(r) - 100 * n for n, r in enumerate(ratios)))


EQUAL: Final = Temperament("equal", (0.0,) * 12)


def ratios_of(name: str) -> tuple[Fraction, ...]:
    """Return the twelve exact ratios of `5-limit`, `7-limit` or `19-limit`."""
    return tuple(Fraction(r) for r in _RATIOS.format(fourth=_FOURTHS[name]).split())


def named_temperament(name: str) -> Temperament:
    """Return `equal`, `5-limit`, `7-limit` or `19-limit`.

    Raises
    ------
    BadTemperament
        If the name is none of them.
    """
    wanted = name.strip().lower()
    if wanted == "equal":
        return EQUAL
    if wanted not in _FOURTHS:
        raise BadTemperament(
            f"{name!r} is no temperament: use {', '.join(NAMES)}, or a TOML file of cents."
        )
    return from_ratios(wanted, ratios_of(wanted))
