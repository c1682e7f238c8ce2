"""The keys of a table that may have millions of rows, kept small."""

from array import array
from bisect import bisect_right
from typing import Any


class Keys:
    """Keys that were seen; numbers in rising order are kept as stretches without a gap."""

    def __init__(self) -> None:
        self._first = array("q")
        self._last = array("q")
        self._others: set[Any] = set()

    def add(self, key: Any) -> bool:
        """Take in a key; say whether it is new."""
        if key in self:
            return False
        if not isinstance(key, int) or (self._last and key < self._last[-1]):
            self._others.add(key)
        elif self._last and key == self._last[-1] + 1:
            self._last[-1] = key
        else:
            self._first.append(key)
            self._last.append(key)
        return True

    def __contains__(self, key: object) -> bool:
        if isinstance(key, int):
            place = bisect_right(self._first, key) - 1
            if place >= 0 and key <= self._last[place]:
                return True
        return key in self._others
