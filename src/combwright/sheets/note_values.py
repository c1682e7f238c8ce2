"""Lengths as note values: plain and dotted ones, tied together, and tuplets of any size.

A tuplet begins where a value of halves ends and lasts until the next such place. Its ratio comes
from what its times are parted by: thirds are 3 in the time of 2, fifths 5 of 4, ninths 9 of 8.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import lcm
from typing import Final

from combwright.tunes.tune import WHOLE

#: The shortest value that is written, as one over it.
_SHORTEST: Final = 128
#: The tuplets that are written are of so many at most.
_MOST_PARTS: Final = 15
_BREVE: Final = Fraction(2)
#: Numerators of values without a dot, with one and with two.
_DOTS: Final = {1: 0, 3: 1, 7: 2}

Times = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Value:
    """A note value: a fraction of a whole note without its dots, and how many dots."""

    base: Fraction
    dots: int

    @property
    def length(self) -> Fraction:
        """How long it lasts."""
        return self.base * (2 - Fraction(1, 2**self.dots))


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring pieces, alone or in a tuplet: `many` in the time of `usual`.

    Parameters
    ----------
    first, last : int
        Which pieces; last is one beyond.
    many, usual : int
        1 and 1 outside a tuplet.
    """

    first: int
    last: int
    many: int = 1
    usual: int = 1

    def written(self, length: int) -> Fraction:
        """Return the length that is written for so many grains."""
        return _part(length * self.many, WHOLE * self.usual)


def values(length: Fraction) -> tuple[Value, ...]:
    """Part a length into values, the longest first.

    Raises
    ------
    ValueError
        If it is no sum of values down to a 128th.
    """
    found = []
    while length > 0:
        value = _longest(length)
        found.append(value)
        length -= value.length
    return tuple(found)


def _longest(length: Fraction) -> Value:
    if _SHORTEST % length.denominator:
        raise ValueError(f"{length} of a whole note is no note value")
    if length >= 2 * _BREVE:
        return Value(_BREVE, 0)
    if length.numerator in _DOTS:
        dots = _DOTS[length.numerator]
        return Value(length / (2 - Fraction(1, 2**dots)), dots)
    return Value(Fraction(2 ** (length.numerator.bit_length() - 1), length.denominator), 0)


def runs(pieces: Sequence[Times]) -> tuple[Run, ...]:
    """Part the pieces of a bar, each a start and a length in grains, into tuplets and the rest."""
    found = []
    first, parts = 0, 1
    for n, (start, length) in enumerate(pieces):
        if first == n:
            parts = _odd(start)
        parts = lcm(parts, _odd(length), _odd(start + length))
        if _odd(start + length) == 1 or n + 1 == len(pieces):
            usual = 1 << (parts.bit_length() - 1)
            found.append(Run(first, n + 1, parts, usual))
            first = n + 1
    return tuple(found)


def can_be_written(pieces: Sequence[Times]) -> bool:
    """Tell whether all pieces of a bar are values or sums of values, in tuplets or alone."""
    return all(
        run.many <= _MOST_PARTS
        and all(_SHORTEST % run.written(length).denominator == 0 for _, length in
                pieces[run.first : run.last])
        for run in runs(pieces)
    )  # fmt: skip


@cache
def _part(top: int, bottom: int) -> Fraction:
    return Fraction(top, bottom)


@cache
def _odd(grains: int) -> int:
    """Return the odd part of what a time is parted by."""
    parts = Fraction(grains, WHOLE).denominator
    return parts // (parts & -parts)
