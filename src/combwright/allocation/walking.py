"""The walk through the racks: A-9 comes before A-10."""

import re
from typing import Final

from combwright.allocation.stock import Bin

_NUMBER: Final = re.compile(r"(\d+)")


def natural_key(text: str) -> tuple[tuple[bool, int, str], ...]:
    """Return a key that sorts runs of digits as numbers."""
    return tuple(
        (False, int(piece), "") if piece.isdecimal() else (True, 0, piece.casefold())
        for piece in _NUMBER.split(text)
        if piece
    )


def walk_key(
    plate: Bin,
) -> tuple[bool, tuple[tuple[bool, int, str], ...], tuple[tuple[bool, int, str], ...]]:
    """Return a key that sorts bins along the walk; bins without a place on it come last."""
    return (not plate.walk, natural_key(plate.walk), natural_key(plate.code))
