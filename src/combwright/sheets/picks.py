"""The pick list: what to take from which bin, in walking order."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate, groupby

from combwright.allocation.walking import natural_key
from combwright.allocation.workshop import Workshop
from combwright.comb.seats import Mount
from combwright.notes.names import note_name
from combwright.sheets.figures import counted, day, millimetres
from combwright.sheets.typeset import Press, on_one_line, pages
from combwright.sheets.walk import aisle_of


@dataclass(frozen=True, slots=True)
class PickUse:
    """The plates of one bin that go into one tray: an instrument, or an order's loose plates.

    Parameters
    ----------
    order : str
        The order's number.
    copy : str
        Which copy, empty where the order has only one.
    places : tuple of str
        One for each plate: `5 draw`, `kit 5 draw`.
    """

    order: str
    copy: str
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pick:
    """What to take from one bin.

    Parameters
    ----------
    bin, walk, batch : str
        The bin, its place on the walk, and its batch.
    midi : int
        The nominal note of its plates.
    mount, slot_mm
        Riveted end and slot length of its plates.
    uses : tuple of PickUse
        Where they go.
    arrives : date or None
        When the bin is not in the rack yet, the day it comes.
    """

    bin: str
    walk: str
    midi: int
    batch: str
    mount: Mount
    slot_mm: float
    uses: tuple[PickUse, ...]
    arrives: date | None = None

    @property
    def count(self) -> int:
        """How many plates to take."""
        return sum(len(use.places) for use in self.uses)


@dataclass(frozen=True, slots=True)
class PartPick:
    """So many of one part, for all the orders together."""

    name: str
    count: int


def in_walking_order(picks: Sequence[Pick]) -> list[Pick]:
    """Sort picks by the walk, then by the bin, both naturally.

    Bins without a place on the walk come after those with one, and what has not arrived last.
    """
    return sorted(
        picks,
        key=lambda pick: (
            pick.arrives is not None,
            pick.arrives or date.min,
            not pick.walk,
            natural_key(pick.walk),
            natural_key(pick.bin),
        ),
    )


def pick_list_pdf(
    picks: Sequence[Pick],
    *,
    workshop: Workshop,
    parts: Sequence[PartPick] = (),
    on: date | None = None,
    shared: Press | None = None,
) -> bytes:
    """Set the pick list; with nothing to pick, a page that says so.

    Parameters
    ----------
    picks : sequence of Pick
        In any order.
    workshop : Workshop
        Gives the paper.
    parts : sequence of PartPick
        Listed after the plates.
    on : date or None
        The day of the plan, printed when given.
    shared : Press or None
        A press to share among many sheets.
    """
    ordered = in_walking_order(picks)
    orders = {use.order for pick in picks for use in pick.uses}
    data = {
        "paper": workshop.paper,
        "on": day(on),
        "summary": (
            f"{counted(sum(pick.count for pick in picks), 'plate')} from "
            f"{counted(len(picks), 'bin')} for {counted(len(orders), 'order')}"
        ),
        "groups": _groups(ordered),
        "parts": [{"name": on_one_line(p.name), "count": p.count} for p in parts],
    }
    return pages("pick-list", data, shared)


def _groups(ordered: Sequence[Pick]) -> list[dict[str, object]]:
    so_far = accumulate(pick.count for pick in ordered)
    rows = zip(ordered, so_far, strict=True)
    groups: list[dict[str, object]] = [
        {"title": title, "rows": [_row(pick, total) for pick, total in group]}
        for title, group in groupby(rows, key=lambda row: _group_title(row[0]))
    ]
    if len(groups) > 1:
        for group in groups:
            group["title"] = group["title"] or "Elsewhere"
    return groups


def _group_title(pick: Pick) -> str:
    if pick.arrives is not None:
        return f"Not in the rack yet: arrives {day(pick.arrives)}"
    aisle = aisle_of(pick.walk)
    return f"Aisle {aisle}" if aisle else ""


def _row(pick: Pick, so_far: int) -> dict[str, object]:
    return {
        "bin": on_one_line(pick.bin),
        "walk": on_one_line(pick.walk),
        "note": note_name(pick.midi),
        "about": f"{pick.mount} mount, slot {millimetres(pick.slot_mm)}",
        "batch": on_one_line(pick.batch),
        "count": pick.count,
        "so_far": so_far,
        "uses": [
            {
                "order": on_one_line(use.order),
                "copy": use.copy,
                "count": len(use.places),
                "places": ", ".join(use.places),
            }
            for use in pick.uses
        ],
    }
