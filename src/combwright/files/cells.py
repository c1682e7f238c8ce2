"""What one cell may hold: names, numbers, money, dates; each read or refused in a line.

Number readers take the number as Python writes it, with a decimal point (`plain_number`).
"""

import math
import re
from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal
from typing import Final, TypeVar

from combwright.files.results import BadCell

S = TypeVar("S", bound=str)
LONGEST_NAME: Final = 100
MOST_MONEY: Final = 1_000_000_000
_SIX_PLACES: Final = Decimal("0.000001")
_DATE: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_YES_NO: Final = {
    "yes": True, "true": True, "1": True, "no": False, "false": False, "0": False
}  # fmt: skip


def name(text: str) -> str:
    """Read a bin's, batch's, order's or part's name: up to a hundred visible characters."""
    if not text.isprintable():
        hidden = next(c for c in text if not c.isprintable())
        raise BadCell(f"{text!r} holds a character that cannot be seen (U+{ord(hidden):04X}).")
    if len(text) > LONGEST_NAME:
        raise BadCell(f"{text!r} is too long; {LONGEST_NAME} characters are the most.")
    return text


def number(low: float, high: float, *, unit: str = "") -> Callable[[str], float]:
    """Return a reader of numbers from `low` to `high`, both inclusive."""

    def read(text: str) -> float:
        value = float(text)
        if not (math.isfinite(value) and low <= value <= high):
            raise BadCell(f"{text} is out of range; {low:g} to {high:g}{unit} is right.")
        return value + 0.0  # minus zero becomes zero

    return read


def length(high_mm: float, *, example: str) -> Callable[[str], float]:
    """Return a reader of lengths above zero and up to `high_mm`."""

    def read(text: str) -> float:
        value = float(text)
        if not 0 < value <= high_mm:
            raise BadCell(
                f"{text} is no length; write one above 0 and up to {high_mm:g} mm, as in {example}."
            )
        return value

    return read


def whole(low: int, high: int) -> Callable[[str], int]:
    """Return a reader of whole numbers from `low` to `high`; `12.0` is 12."""

    def read(text: str) -> int:
        value = float(text)
        if not math.isfinite(value) or value != int(value):
            raise BadCell(f"{text} is no whole number; write one such as {max(low, 12)}.")
        if not low <= value <= high:
            raise BadCell(f"{text} is out of range; {low} to {high:,} is right.")
        return int(value)

    return read


def money(text: str) -> Decimal:
    """Read an amount of 0 or more; beyond six decimals it is rounded, half to even."""
    value = Decimal(text)
    if not 0 <= value <= MOST_MONEY:
        raise BadCell(f"{text} is out of range; 0 to {MOST_MONEY:,} is right.")
    rounded = value.quantize(_SIX_PLACES)
    return (value if value == rounded else rounded) + 0  # minus zero becomes zero


def choice(choices: Sequence[S]) -> Callable[[str], S]:
    """Return a reader of a few words, in any case."""
    by_word = {word.lower(): word for word in choices}

    def read(text: str) -> S:
        if text.lower() not in by_word:
            raise BadCell(f"{text!r} is not known here; write {' or '.join(choices)}.")
        return by_word[text.lower()]

    return read


def yes_no(text: str) -> bool:
    """Read yes or no; true, false, 1 and 0 too."""
    if text.lower() not in _YES_NO:
        raise BadCell(f"{text!r} is neither yes nor no; write one of them.")
    return _YES_NO[text.lower()]


def day(text: str) -> date:
    """Read a date written YYYY-MM-DD."""
    try:
        if _DATE.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise BadCell(f"{text!r} is no date; write YYYY-MM-DD, as in 2031-04-30.")
