"""The aisles that the walk through the racks passes."""

import re
from typing import Final

_AISLE: Final = re.compile(r"(?P<letters>[^\W\d_]+)[\s./:_-]*\d|(?P<number>\d+)\s*[./:_-]\s*\w")


def aisle_of(walk: str) -> str:
    """Return the rack aisle of a place on the walk: `A` of `A-9`, `2` of `2-14`, else nothing."""
    found = _AISLE.match(walk.strip())
    if found is None:
        return ""
    return found["letters"] or found["number"]
