"""Decimal points and commas: which one a file uses, and its numbers made plain.

A file uses one of them throughout. Most numbers can be read one way only (14.2, 0,125), and one
such number settles the file. `1.234` and `1,234` can be read two ways, as a little more than one
or as a thousand and more. Then the separator decides where it can: a file whose cells are parted
by commas has decimal points, one parted by semicolons decimal commas (common practice). The other
way round it is unclear, and a person is asked.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

from combwright.files.results import BadCell

Mark = Literal["point", "comma"]
SIGN_OF: Final[dict[Mark, str]] = {"point": ".", "comma": ","}
OTHER: Final[dict[Mark, Mark]] = {"point": "comma", "comma": "point"}
#: Which mark goes with which separator; a workbook has none.
_NATURAL: Final[dict[str, Mark]] = {",": "point", ";": "comma"}

_MARKED: Final = re.compile(r"[+\-]?(?=.?[0-9])[0-9]*[.,][0-9]*(?:[eE][+\-]?[0-9]{1,3})?")
_TWO_WAYS: Final = re.compile(r"[+\-]?[1-9][0-9]{0,2}[.,][0-9]{3}")
_THOUSANDS: Final = re.compile(r"[+\-]?[0-9]{1,3}(?:(?:[.,' ’][0-9]{3})+)(?:[.,][0-9]*)?")
_PLAIN: Final[dict[Mark, re.Pattern[str]]] = {
    mark: re.compile(rf"[+\-]?(?:[0-9]+[{sign}]?[0-9]*|[{sign}][0-9]+)(?:[eE][+\-]?[0-9]{{1,3}})?")
    for mark, sign in SIGN_OF.items()
}


@dataclass(frozen=True, slots=True)
class Unclear:
    """Why a file's decimal mark cannot be told, and the cell (its text) where that shows."""

    text: str
    reason: str


def decimal_mark(texts: Iterable[str], separator: str) -> Mark | Unclear:
    """Tell the decimal mark from the number cells of a file.

    Parameters
    ----------
    texts : iterable of str
        Cells of the number columns, each text once is enough.
    separator : {",", ";", ""}
        What parts the cells; empty for a workbook, whose number cells need no mark.
    """
    clear: dict[Mark, str] = {}
    two_ways: dict[Mark, str] = {}
    for text in texts:
        plain = text.replace("\u2212", "-")
        if _MARKED.fullmatch(plain):
            mark: Mark = "comma" if "," in plain else "point"
            (two_ways if _TWO_WAYS.fullmatch(plain) else clear).setdefault(mark, text)
    if len(clear) == 2:
        return Unclear(
            clear["comma"],
            f"{clear['comma']!r} has a decimal comma, but another cell, {clear['point']!r}, "
            "has a decimal point; use one of them in the whole file.",
        )
    if clear:
        return next(iter(clear))
    natural = _NATURAL.get(separator)
    odd = next((mark for mark in two_ways if mark != natural), None)
    return natural or "point" if odd is None else Unclear(two_ways[odd], _ask(two_ways[odd]))


def plain_number(text: str, mark: Mark) -> str:
    """Return a number cell as Python writes the number, with a decimal point.

    Raises
    ------
    BadCell
        If it is no number, has thousands separators, or the other decimal mark.
    """
    signed = text.replace("\u2212", "-")
    if _PLAIN[mark].fullmatch(signed):
        return signed.replace(",", ".")
    if _PLAIN[OTHER[mark]].fullmatch(signed) and not _TWO_WAYS.fullmatch(signed):
        raise BadCell(
            f"{text!r} has a decimal {OTHER[mark]}, but this file has decimal {mark}s; "
            f"write {signed.replace(SIGN_OF[OTHER[mark]], SIGN_OF[mark])}."
        )
    if _THOUSANDS.fullmatch(signed):
        raise BadCell(
            f"{text!r} seems to part the thousands; write the digits together, "
            f"as in 1234{SIGN_OF[mark]}5."
        )
    if signed.strip("+-").lower() in {"nan", "inf", "infinity"}:
        raise BadCell(f"{text!r} is no finite number; write one such as 14{SIGN_OF[mark]}2.")
    raise BadCell(f"{text!r} is no number; write one such as 14{SIGN_OF[mark]}2.")


def _ask(text: str) -> str:
    small, large = re.sub("[.,]", ".", text), re.sub("[.,]", "", text)
    return (
        f"{text!r} can be read as {float(small.replace(chr(0x2212), '-')):g} or as {large}; write "
        f"{large} if that is meant, one decimal place more or fewer if not, or name the "
        "decimal mark: --decimal point or --decimal comma."
    )
