"""A factory set's twenty plates, and which bins are proposed for them."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import ngettext

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.default_comb import default_comb
from combwright.comb.seats import Seat
from combwright.notes.keys import parse_key
from combwright.notes.names import note_name
from combwright.shop.rack.models import MICRONS_PER_MM, Bin


def proposal(said: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return what to fill in for each of a set's plates, hole by hole, blow before draw.

    Plates go to the bins that hold the same plates of the same batch already; for the others new
    bins are proposed, named after the drawer.

    Parameters
    ----------
    said : mapping
        `key`, `batch`, `place` and `cost`, as the first page asks for them.
    """
    layout = catalogue_layout("standard").in_key(parse_key(said["key"]))
    cuts = [_cut(seat) for seat in layout.seats]
    there = Bin.objects.filter(
        batch__code=said["batch"], midi__in=[seat.midi for seat in layout.seats], cut__in=cuts
    )
    known = {(each.midi, each.cut): each for each in there.order_by("-code")}
    return [
        _proposed(seat, number, known.get((seat.midi, _cut(seat))), said)
        for number, seat in enumerate(layout.seats, start=1)
    ]


def _cut(seat: Seat) -> str:
    return f"{seat.hole} {seat.breath}"


def _proposed(
    seat: Seat, number: int, known: Bin | None, said: Mapping[str, Any]
) -> dict[str, Any]:
    usual_mm = default_comb().takes_mm(seat.hole)
    place = said["place"]
    return {
        "code": known.code if known else f"{place}-{number}",
        "midi": seat.midi,
        "note": note_name(seat.midi),
        "cut": _cut(seat),
        "walk": known.walk if known else f"{place}-{number}",
        "cost": said["cost"],
        "cents": known.cents if known else None,
        "slot": (known.slot_um / MICRONS_PER_MM) if known else usual_mm,
        # Draw plates are usually riveted at the rear end, blow plates at the front.
        "mount": known.mount if known else ("front" if seat.breath == "blow" else "rear"),
        "lost": 0,
    }


def note_of(said: Mapping[str, Any]) -> str:
    """Return the ledger's note for received sets."""
    text = ngettext("%(n)d set in %(key)s", "%(n)d sets in %(key)s", said["sets"])
    return text % {"n": said["sets"], "key": said["key"]}
