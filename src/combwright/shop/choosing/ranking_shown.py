"""A ranking as its page shows it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.shop.choosing.models import Answer, MadeWish
from combwright.shop.choosing.picture import bar


@dataclass(frozen=True, slots=True)
class Hard:
    """A tune that is dear to play, and why."""

    title: str
    why: str


@dataclass(frozen=True, slots=True)
class Ranked:
    """A row of a ranking.

    Parameters
    ----------
    row : int
        Which of the answer, from 0.
    said : mapping
        What the answer says.
    natural, with_bends, with_overbends : float
        Shares of the tunes, in hundredths.
    hardest : tuple of Hard
        The dearest tunes for their length.
    made : sequence of MadeWish
        The wishes that were made of it.
    """

    row: int
    said: Mapping[str, Any]
    natural: float
    with_bends: float
    with_overbends: float
    bar: SafeString
    hardest: tuple[Hard, ...]
    made: Sequence[MadeWish]

    @property
    def place(self) -> int:
        """Its place in the ranking, from 1."""
        return self.row + 1

    @property
    def name(self) -> str:
        """What people call it."""
        said = self.said
        key = _(" in %s") % said["key"] if said["key"] else ""
        changes = f" ({said['changes']})" if said["changes"] else ""
        return f"{said['title']}{key}{changes}"


def ranking(answer: Answer, wishes: Mapping[int, Sequence[MadeWish]]) -> dict[str, Any]:
    """Return what the page of a ranking shows: its rows."""
    said = answer.said or {}
    tunes = said["tunes"]
    rows = [
        Ranked(
            n, row, 100 * row["natural"] / tunes, 100 * row["with_bends"] / tunes,
            100 * row["with_overbends"] / tunes, bar(row, tunes),
            tuple(Hard(each["title"], why(each)) for each in row["worst"]), wishes.get(n, ()),
        )
        for n, row in enumerate(said["layouts"])
    ]  # fmt: skip
    return {"rows": rows}


def why(tune: Mapping[str, Any]) -> str:
    """Say what makes a tune dear to play."""
    return ", ".join(_reasons(tune)) or _("jumps and changes of breath only")


def _reasons(tune: Mapping[str, Any]) -> Iterator[str]:
    if tune["missing"]:
        yield ngettext("%d note missing", "%d notes missing", tune["missing"]) % tune["missing"]
    if tune["overbends"]:
        yield ngettext("%d overbend", "%d overbends", tune["overbends"]) % tune["overbends"]
    if tune["bends"]:
        yield ngettext("%d bend", "%d bends", tune["bends"]) % tune["bends"]
