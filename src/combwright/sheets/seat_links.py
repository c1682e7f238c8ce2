"""Seats of a drawing that lead somewhere: each is a link over its plate and its names."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from combwright.comb.seats import Deck
from combwright.sheets.geometry import Geometry
from combwright.sheets.plates import Place
from combwright.sheets.svg import Value, element, rectangle


@dataclass(frozen=True, slots=True)
class SeatLink:
    """Where a seat leads.

    Parameters
    ----------
    address : str
        Of the link.
    name : str
        What is read out for the seat: it stands for everything drawn in it.
    current : bool
        Whether this is the seat that the page is about.
    """

    address: str
    name: str
    current: bool = False


NO_LINKS: Final[Mapping[Place, SeatLink]] = MappingProxyType({})


def linked(places: Geometry, place: Place, link: SeatLink, drawn: str) -> str:
    """Wrap a drawn seat in its link; all of the seat's own ground can be touched."""
    hole, deck = place
    attributes: dict[str, Value] = {
        "href": link.address,
        "id": f"seat-{hole}-{deck}",
        "class": "seat-link",
        "data-hole": str(hole),
        "data-deck": deck,
        "aria-label": link.name,
    }
    if link.current:
        attributes["aria-current"] = "true"
    return element("a", attributes, drawn, _ground(places, hole, deck))


def _ground(places: Geometry, hole: int, deck: Deck) -> str:
    """Return the rectangle that can be touched: from the comb's front to beyond the names."""
    height = places.deck_height + places.names_room - 4
    front = places.front(deck)
    top = front - height if deck == "upper" else front
    x = places.middle(hole) - places.pitch / 2 + 2
    look: dict[str, Value] = {"class": "ground", "fill": "transparent", "rx": 6}
    return rectangle(x, top, places.pitch - 4, height, look)
