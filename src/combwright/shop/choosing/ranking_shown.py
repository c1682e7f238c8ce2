"""A ranking as its page shows it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.core.paginator import Paginator
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.shop.choosing.models import Answer, MadeWish
from combwright.shop.choosing.picture import bar

PAGE: Final = 50
Wishes = Mapping[int, Sequence[MadeWish]]


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
    notes : tuple of str
        The notes that cost most, and how often they are played.
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
    notes: tuple[str, ...]
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


def ranking(answer: Answer, wishes: Wishes, page: str | None) -> dict[str, Any]:
    """Return what the page of a ranking shows: fifty rows, and where the customer's own stand."""
    said = answer.said or {}
    numbered = list(enumerate(said["layouts"]))
    shown = Paginator(numbered, PAGE).get_page(page)
    return {
        "page": shown,
        "rows": [_row(n, row, said["tunes"], wishes.get(n, ())) for n, row in shown],
        "own": [(n + 1, row["serial"]) for n, row in numbered if row["serial"]],
    }


def _row(n: int, row: Mapping[str, Any], tunes: int, made: Sequence[MadeWish]) -> Ranked:
    return Ranked(
        row=n,
        said=row,
        natural=100 * row["natural"] / tunes,
        with_bends=100 * row["with_bends"] / tunes,
        with_overbends=100 * row["with_overbends"] / tunes,
        bar=bar(row, tunes),
        hardest=tuple(Hard(each["title"], why(each)) for each in row["worst"]),
        notes=tuple(_hard(each) for each in row.get("hardest", ())),
        made=made,
    )


def _hard(each: Mapping[str, Any]) -> str:
    facts = {"note": each["pitch"], "hole": each["hole"], "n": each["times"]}
    breath = _("draw") if each["breath"] == "draw" else _("blow")
    if each["hole"] is None:
        words = ngettext("%(note)s is not there, once", "%(note)s is not there, %(n)d times",
                         each["times"])  # fmt: skip
    elif each["overbend"]:
        words = ngettext("%(note)s overbent at %(hole)d %(breath)s, once",
                         "%(note)s overbent at %(hole)d %(breath)s, %(n)d times",
                         each["times"])  # fmt: skip
    else:
        words = ngettext("%(note)s bent at %(hole)d %(breath)s, once",
                         "%(note)s bent at %(hole)d %(breath)s, %(n)d times",
                         each["times"])  # fmt: skip
    return words % {**facts, "breath": breath}


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
