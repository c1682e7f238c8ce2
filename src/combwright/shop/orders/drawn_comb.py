"""The drawn comb of an order's instrument: one picture for its wish, its building, its papers.

Seats may be links, one of them may be framed, plates may be missing or wait for a retune; every
mark is a shape or a word before it is a colour. What a link says is read out in place of the
picture.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.comb.seats import DECKS, Deck
from combwright.notes.names import note_text
from combwright.sheets.drawing import comb_svg
from combwright.sheets.plates import DrawnPlate, Place, bends_of_plates, plates_of_layout
from combwright.sheets.seat_links import SeatLink

NO_RETUNES: Final[Mapping[Place, float]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Framed:
    """The seat that a page is about, and the word on its tag."""

    place: Place
    word: str


def drawn_comb(
    comb: Comb,
    plates: Sequence[DrawnPlate],
    *,
    title: str,
    framed: Framed | None = None,
    retunes: Mapping[Place, float] = NO_RETUNES,
    address: Callable[[Place], str] | None = None,
    words: Mapping[Place, str] = MappingProxyType({}),
) -> SafeString:
    """Draw a comb with its plates.

    Parameters
    ----------
    comb : Comb
        With a chamber for each plate.
    plates : sequence of DrawnPlate
        `state` says which are missing.
    title : str
        What the instrument is called.
    framed : Framed or None
        The seat chosen, or the one to do next.
    retunes : mapping
        Cents by which the plate of a seat is yet to be retuned.
    address : callable or None
        Gives the address that each seat leads to, empty ones too; None for a mere picture.
    words : mapping
        What is read out for a seat after its note, as `in the rack`.
    """
    place = framed.place if framed else None
    links = {}
    if address is not None:
        notes = {(plate.hole, plate.deck): plate for plate in plates}
        links = {
            each: SeatLink(
                address(each),
                seat_words(each, notes.get(each), words.get(each, "")),
                each == place,
            )
            for each in all_seats(comb)
        }
    svg = comb_svg(
        comb,
        plates,
        bends=bends_of_plates(plates),
        next_seat=place,
        next_word=framed.word if framed else "next",
        retunes=retunes,
        links=links,
        title=title,
        ground=False,
    )
    return mark_safe(svg)  # every value in a drawing is escaped by sheets.svg


def designed_plates(layout: Layout, missing: Iterable[Place] = ()) -> tuple[DrawnPlate, ...]:
    """Return the plates of a designed layout, for which none is chosen yet."""
    return plates_of_layout(layout, missing=missing)


def all_seats(comb: Comb) -> list[Place]:
    """Return every seat of a comb, hole by hole, upper deck first."""
    return [(hole, deck) for hole in range(1, comb.holes + 1) for deck in DECKS]


def seat_words(place: Place, plate: DrawnPlate | None, more: str = "") -> str:
    """Say a seat and what is in it: `5 lower: F#5, draw, in the rack`."""
    if plate is None:
        return _("%(seat)s: empty") % {"seat": seat_name(place)}
    said = {
        "seat": seat_name(place),
        "note": note_text(plate.midi, plate.cents),
        "breath": _("blow") if plate.breath == "blow" else _("draw"),
    }
    told = _("%(seat)s: %(note)s, %(breath)s") % said
    return f"{told}, {more}" if more else told


def seat_name(place: Place) -> str:
    """Return what a seat is called: `5 lower`."""
    hole, deck = place
    return _("%d upper") % hole if deck == "upper" else _("%d lower") % hole


def seat_code(place: Place) -> str:
    """Return a seat as addresses write it: `5-lower`."""
    return f"{place[0]}-{place[1]}"


def parse_seat(text: str) -> Place | None:
    """Read a seat as addresses write it, or return None."""
    hole, _hyphen, deck = text.partition("-")
    if deck not in DECKS or not hole.isdecimal() or len(hole) > 2:
        return None
    found: Deck = "upper" if deck == "upper" else "lower"
    return int(hole), found
