"""The comb as a picture: SVG that stands alone on a screen and inside a page."""

import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from combwright.comb.combs import Comb
from combwright.comb.seats import DECKS, Deck
from combwright.sheets import legend, marks
from combwright.sheets.comb_front import comb_front, deck_names
from combwright.sheets.geometry import (
    DECK_HEIGHT,
    Geometry,
    geometry_of,
    slot_of,
)
from combwright.sheets.look import FONT_FAMILY, INK, NEXT, PAPER, QUIET, WRONG
from combwright.sheets.plates import DrawnPlate, Place
from combwright.sheets.seat_links import NO_LINKS, SeatLink, linked
from combwright.sheets.svg import Value, element, label, rectangle, words
from combwright.sheets.wording import describe, shows_cents

_NO_BENDS: Final[Mapping[Place, int]] = MappingProxyType({})
NO_FRAMES: Final[Mapping[Place, str]] = MappingProxyType({})
_NO_RETUNES: Final[Mapping[Place, float]] = MappingProxyType({})


def comb_svg(
    comb: Comb,
    plates: Sequence[DrawnPlate],
    *,
    bends: Mapping[Place, int] = _NO_BENDS,
    next_seat: Place | None = None,
    next_word: str = "next",
    framed: Mapping[Place, str] = NO_FRAMES,
    retunes: Mapping[Place, float] = _NO_RETUNES,
    links: Mapping[Place, SeatLink] = NO_LINKS,
    title: str | None = None,
    width: float | None = None,
    with_legend: bool = True,
    ground: bool = True,
    deck_height: float = DECK_HEIGHT,
) -> str:
    """Draw a comb from the front, its decks folded open above and below it.

    Parameters
    ----------
    comb : Comb
        1 to 16 chambers.
    plates : sequence of DrawnPlate
        At most one a seat; a seat without one is drawn empty.
    bends : mapping of (hole, deck) to int
        By how many semitones the reed of a seat bends.
    next_seat : (hole, deck) or None
        The seat to do next, framed.
    next_word : str
        What its tag says; the legend says it of all frames.
    framed : mapping of (hole, deck) to str
        Seats that are framed too, each with what its tag says.
    retunes : mapping of (hole, deck) to float
        By how many cents the plate of a seat has yet to be raised, or lowered below 0.
    links : mapping of (hole, deck) to SeatLink
        Where seats lead; a drawing with links is a group of them and no picture.
    title : str or None
        Read out as the picture's name.
    width : float or None
        In pixels; without it the picture takes the width it is given.
    deck_height : float
        How high the longest plate is drawn; of ten holes, each is 94 wide.
    with_legend, ground : bool
        Whether the marks are explained below, and whether the paper's colour is painted.

    Returns
    -------
    str
        An SVG document with its title and a description in words.

    Raises
    ------
    BadSheet
        If two plates share a seat or a slot is not above 0 mm.
    NoSuchHole
        If a plate or the next seat lies beyond the comb.
    """
    frames = {**framed, **({} if next_seat is None else {next_seat: next_word})}
    places = geometry_of(
        comb, plates, with_next=bool(frames), with_retunes=bool(retunes), deck_height=deck_height
    )
    for hole, _ in frames:
        comb.takes_mm(hole)
    shown = replace(
        _shown(comb, plates, bends), next=bool(frames), next_word=next_word, retunes=bool(retunes)
    )
    rows = legend.rows_of(shown, places.width - 24)
    height = places.legend_top + (legend.height_of(rows) + 8 if with_legend else 0)
    name = title or f"{comb.title}: {len(plates)} plates"
    parts = [rectangle(0, 0, places.width, height, {"fill": PAPER})] if ground else []
    parts += [comb_front(places), deck_names(places)]
    for place, seat in _seats(comb, places, plates, bends, retunes, frames):
        parts.append(linked(places, place, links[place], seat) if place in links else seat)
    if with_legend:
        parts.append(legend.legend(rows, places.width, places.legend_top))
    about = describe(comb, plates, bends, next_seat, framed)
    return _document(name, about, (places.width, height), width, parts, linked=bool(links))


def _document(
    title: str,
    about: str,
    size: tuple[float, float],
    width: float | None,
    parts: Sequence[str],
    *,
    linked: bool,
) -> str:
    # Two drawings on one page must not share ids, and the same drawing must not change.
    mark = f"{zlib.crc32((title + about).encode(errors='replace')):08x}"
    shown: dict[str, Value] = {}
    if width is not None:
        shown = {"width": width, "height": width * size[1] / size[0]}
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {size[0]:g} {size[1]:g}",
            **shown,
            # The parts of a picture are not read out; links must be, and each has its own words.
            "role": "group" if linked else "img",
            "aria-labelledby": f"title-{mark}" if linked else f"title-{mark} about-{mark}",
            "font-family": FONT_FAMILY,
        },
        words("title", {"id": f"title-{mark}"}, title),
        words("desc", {"id": f"about-{mark}"}, about),
        *parts,
    )


def _shown(
    comb: Comb,
    plates: Sequence[DrawnPlate],
    bends: Mapping[Place, int],
) -> legend.Shown:
    present = [plate for plate in plates if plate.state == "present"]
    return legend.Shown(
        facing_in=any(plate.facing == "in" for plate in present),
        facing_out=any(plate.facing == "out" for plate in present),
        rivets=any(plate.mount is not None for plate in present),
        stairs=any(steps > 0 for steps in bends.values()),
        missing=len(present) < len(plates),
        empty=len(plates) < 2 * comb.holes,
    )


def _seats(
    comb: Comb,
    places: Geometry,
    plates: Sequence[DrawnPlate],
    bends: Mapping[Place, int],
    retunes: Mapping[Place, float],
    frames: Mapping[Place, str],
) -> Iterator[tuple[Place, str]]:
    at = {(plate.hole, plate.deck): plate for plate in plates}
    for hole in range(1, comb.holes + 1):
        for deck in DECKS:
            plate = at.get((hole, deck))
            slot_mm = slot_of(plate, comb) if plate else comb.takes_mm(hole)
            box = _box(places, hole, deck, slot_mm)
            word = frames.get((hole, deck), "")
            drawn = [_plate(box, plate)]
            if bends.get((hole, deck), 0) > 0:
                drawn.append(_stair(box, places, bends[hole, deck]))
            if word:
                drawn.append(marks.next_frame(box))
            drawn.append(_names(box, plate, retunes.get((hole, deck), 0.0), word))
            yield (hole, deck), element("g", {"class": f"seat {deck}", "data-hole": hole}, *drawn)


def _box(places: Geometry, hole: int, deck: Deck, slot_mm: float) -> marks.Box:
    height = places.long(slot_mm)
    front = places.front(deck)
    top = front - height if deck == "upper" else front
    return marks.Box(places.x(hole), top, height, deck == "upper", places.plate_width)


def _plate(box: marks.Box, plate: DrawnPlate | None) -> str:
    if plate is None:
        return marks.empty(box)
    if plate.state == "missing":
        return marks.missing(box)
    return marks.plate(box, filled=plate.facing == "in", mount=plate.mount)


def _stair(box: marks.Box, places: Geometry, steps: int) -> str:
    """Draw the stair to the right of the plate, near its front end."""
    gap = places.pitch - places.plate_width
    low = box.y + box.height - 4 - marks.stair_height(steps)
    y = low if box.front_is_low else box.y + 4
    return marks.stair(box.x + box.width + 0.3 * gap, y, steps, width=gap / 2)


def _names(box: marks.Box, plate: DrawnPlate | None, retune: float, word: str) -> str:
    """Write the note beyond the plate's rear end, its cents, its retune, the next seat's tag."""
    outward = -1 if box.front_is_low else 1
    lines: list[tuple[str, dict[str, Value]]] = []
    if plate is not None:
        missing = plate.state == "missing"
        colour = WRONG if missing else NEXT if word else INK
        lines.append((plate.note, {"fill": colour, "font-size": 17.0, "font-weight": 600}))
        if shows_cents(plate.cents):
            cents = f"{plate.cents:+.1f}".replace("-", "\u2212")
            lines.append((cents, {"fill": QUIET, "font-size": 13.5}))
    y = box.y if box.front_is_low else box.y + box.height
    y += outward * (11.0 if word else 6.0)
    parts = []
    for text, look in lines:
        size = float(look["font-size"])
        parts.append(label(box.middle, y if outward < 0 else y + 0.78 * size, text, look))
        y += outward * (size - 1)
    if shows_cents(retune):
        parts.append(marks.retune(box.middle, y - 14 if outward < 0 else y, retune))
        y += 15 * outward
    if word:
        parts.append(marks.next_tag(box.middle, y - 20 if outward < 0 else y + 2, word))
    return "".join(parts)
