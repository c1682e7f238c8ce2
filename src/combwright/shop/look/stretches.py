"""A stretch of a list that is too long to be counted: told by its keys, not by page numbers.

A numbered page makes the database count all rows, and pass over those before it. A stretch begins
at a key, so that the oldest costs what the newest costs.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Generic, TypeVar

from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)
#: More digits than this are no key: the database keeps keys in 64 bits.
_MOST_DIGITS: Final = 18


@dataclass(frozen=True, slots=True)
class Stretch(Generic[Row]):
    """Some rows, newest first; `newer` and `older` are the keys to go on from, None at an end.

    `newer` is asked for as `?newer=`, `older` as `?older=`; `?newer=0` is the oldest stretch.
    """

    object_list: Sequence[Row]
    newer: int | None
    older: int | None

    @property
    def has_others(self) -> bool:
        """Whether there is anything before or behind."""
        return self.newer is not None or self.older is not None


def stretch(rows: QuerySet[Row], asked: Mapping[str, Any], most: int) -> Stretch[Row]:
    """Return the stretch of a list that an address asks for; one query.

    Parameters
    ----------
    rows : QuerySet
        In any order: they are put in that of their keys, newest first.
    asked : mapping
        The address's query. What is no key in it is left aside, and the newest rows are given.
    most : int
        How many rows a stretch has.
    """
    newer_than, older_than = _key(asked.get("newer")), _key(asked.get("older"))
    if newer_than is not None:
        found = list(rows.filter(pk__gt=newer_than).order_by("pk")[: most + 1])
        shown, more = found[:most][::-1], len(found) > most
        last = shown[-1].pk if shown else newer_than + 1
        return Stretch(shown, shown[0].pk if more else None, last if newer_than else None)
    if older_than is not None:
        rows = rows.filter(pk__lt=older_than)
    found = list(rows.order_by("-pk")[: most + 1])
    shown, more = found[:most], len(found) > most
    first = shown[0].pk if shown else max(0, (older_than or 0) - 1)
    return Stretch(shown, None if older_than is None else first, shown[-1].pk if more else None)


def _key(text: object) -> int | None:
    fits = isinstance(text, str) and text.isascii() and text.isdecimal()
    return int(str(text)) if fits and len(str(text)) <= _MOST_DIGITS else None
