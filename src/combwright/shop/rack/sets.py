"""A factory set's twenty plates, and which bins are proposed for them."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.comb.seats import Seat
from combwright.notes.keys import parse_key
from combwright.notes.names import note_name
from combwright.shop.designs.queries import usual_comb
from combwright.shop.rack.models import MICRONS_PER_MM, Bin


def proposal(said: Mapping[str, Any], layout: Layout | None = None) -> list[dict[str, Any]]:
    """Return what to fill in for each of a set's plates, hole by hole, blow before draw.

    Plates go to the bins that hold the same plates of the same batch already; for the others new
    bins are proposed, named after the drawer.

    Parameters
    ----------
    said : mapping
        `key`, `batch`, `place` and `cost`, as the first page asks for them.
    layout : Layout, optional
        In C; the standard one where none is given, as factory sets are made.
    """
    layout = (layout or catalogue_layout("standard")).in_key(parse_key(said["key"]))
    comb = usual_comb()
    cuts = [_cut(seat) for seat in layout.seats]
    there = Bin.objects.filter(
        batch__code=said["batch"], midi__in=[seat.midi for seat in layout.seats], cut__in=cuts
    )
    known = {(each.midi, each.cut): each for each in there.order_by("-code")}
    return [
        _proposed(seat, number, known.get((seat.midi, _cut(seat))), said, comb)
        for number, seat in enumerate(layout.seats, start=1)
    ]


def _cut(seat: Seat) -> str:
    return f"{seat.hole} {seat.breath}"


def _proposed(
    seat: Seat, number: int, known: Bin | None, said: Mapping[str, Any], comb: Comb
) -> dict[str, Any]:
    usual_mm = comb.takes_mm(min(seat.hole, comb.holes))
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
        "there": known.count if known else None,
    }


def note_of(said: Mapping[str, Any], lost: Mapping[str, int]) -> str:
    """Return the ledger's note for received sets, with the plates that slicing cost.

    Parameters
    ----------
    said : mapping
        `key` and `sets`, as the first page asks for them.
    lost : mapping of str to int
        From a seat to how many of its plates broke.
    """
    text = ngettext("%(n)d set in %(key)s", "%(n)d sets in %(key)s", said["sets"])
    words = [text % {"n": said["sets"], "key": said["key"]}]
    if broken := [f"{seat} × {many}" for seat, many in lost.items() if many]:
        words.append(_("lost in slicing: %s") % ", ".join(broken))
    return "; ".join(words)[:300]
