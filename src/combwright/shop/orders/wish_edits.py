"""One press of a button in the designer, as the next state of a wish."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from django.utils.translation import gettext as _

from combwright.comb.layouts import Layout
from combwright.files.wishes import Wish as ReadWish
from combwright.files.wishes import sounding
from combwright.notes.keys import parse_key
from combwright.notes.names import HIGHEST_MIDI, LOWEST_MIDI, Note
from combwright.sheets.plates import Place
from combwright.shop.designs.queries import KnownLayout
from combwright.shop.orders import wish_changes as changes
from combwright.shop.orders.models import Wish
from combwright.shop.orders.wish_changes import CannotEdit, changes_between
from combwright.shop.orders.wish_drafts import Draft

_LONGEST_CHANGES: Final = Wish._meta.get_field("changes").max_length or 0


@dataclass(frozen=True, slots=True)
class Press:
    """What was pressed: the chosen seat, and what goes with it."""

    place: Place
    note: Note | None = None
    to: Place | None = None


SeatEdit = Callable[[Layout, Press], Layout]


def _pitch(layout: Layout, press: Press) -> Layout:
    if press.note is None:
        raise CannotEdit(_("Write the note first, such as F#5."))
    return changes.tuned(layout, press.place, press.note)


def _move(layout: Layout, press: Press) -> Layout:
    if press.to is None:
        raise CannotEdit(_("Choose the seat that the plate is to go to."))
    return changes.moved(layout, press.place, press.to)


#: Buttons that change the chosen seat.
SEAT_EDITS: Final[Mapping[str, SeatEdit]] = MappingProxyType(
    {
        "pitch": _pitch,
        "up": lambda layout, press: changes.raised(layout, press.place, 1),
        "down": lambda layout, press: changes.raised(layout, press.place, -1),
        "turn": lambda layout, press: changes.turned_over(layout, press.place),
        "empty": lambda layout, press: changes.emptied(layout, press.place),
        "move": _move,
    }
)


def seat_edited(draft: Draft, wish: ReadWish, what: str, press: Press) -> Draft:
    """Return the draft after a button of the chosen seat.

    Parameters
    ----------
    draft : Draft
        As it is.
    wish : Wish
        What it says, read.
    what : str
        One of `SEAT_EDITS`.
    press : Press
        The seat and what goes with it.

    Raises
    ------
    CannotEdit, NoSuchHole, BadWish
        If that cannot be done to the seat.
    """
    wanted = SEAT_EDITS[what](sounding(wish), press)
    return draft.then(changes=_text(wish.layout.in_key(wish.key), wanted))


def started(draft: Draft, layout: str, key: str) -> Draft:
    """Return the draft begun anew from a layout in a key; the kit and the rest stay."""
    return draft.then(layout=layout, key=key, changes="")


def from_notes(draft: Draft, wanted: Layout, layouts: tuple[KnownLayout, ...]) -> Draft:
    """Return the draft with the seats of two lines of notes.

    The base becomes the layout that needs the shortest changes; the one there is, if none is
    shorter.

    Raises
    ------
    CannotEdit
        If no layout has so many holes.
    """
    key = parse_key(draft.facts.key)
    found: list[tuple[int, str, str]] = []
    for known in layouts:
        base = known.layout.in_key(key)
        if wanted.holes <= base.holes and _in_range(base):
            text = changes_between(base, replace(wanted, holes=base.holes))
            found.append((len(text), known.code, text))
    if not found:
        most = max(known.layout.holes for known in layouts)
        raise CannotEdit(
            _("There are %(holes)d notes a line, but no layout here has more than %(most)d holes; "
              "make one under Designs first.")
            % {"holes": wanted.holes, "most": most}
        )  # fmt: skip
    _length, code, text = min(found, key=lambda each: (each[0], each[1] != draft.facts.layout))
    return draft.then(layout=code, changes=_short(text))


def in_other_key(draft: Draft, wish: ReadWish, key: str) -> dict[str, str]:
    """Return what becomes of key, changes and kit when all of the wish moves into a key.

    Raises
    ------
    CannotEdit
        If a note would leave the range of MIDI.
    """
    new = parse_key(key)
    shift = new.shift - wish.key.shift
    if not shift:
        return {"key": new.name}
    now = sounding(wish)
    moved = replace(now, seats=tuple(replace(seat, midi=seat.midi + shift) for seat in now.seats))
    if not _in_range(moved):
        raise CannotEdit(_("In this key a note leaves the range C-1 to G9; choose another key."))
    return {
        "key": new.name,
        "changes": _text(wish.layout.in_key(new), moved),
        "kit": changes.moved_kit(draft.facts.kit, shift),
    }


def _text(base: Layout, wanted: Layout) -> str:
    return _short(changes_between(base, wanted))


def _short(text: str) -> str:
    if len(text) > _LONGEST_CHANGES:
        raise CannotEdit(
            _("So many changes are longer than the %d characters that a wish can keep; "
              "start from a nearer layout.") % _LONGEST_CHANGES
        )  # fmt: skip
    return text


def _in_range(layout: Layout) -> bool:
    return all(LOWEST_MIDI <= seat.midi <= HIGHEST_MIDI for seat in layout.seats)
