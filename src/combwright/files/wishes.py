"""Wishes to designs: a key, a layout, changes, a kit, a temperament and a comb become plates.

Equal wishes share one design, so that many orders of few kinds are read fast and planned fast.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, Literal

from combwright.allocation.orders import Design, KitWant, Want, want_of, wants_of
from combwright.comb.changes import Change, KitLine, apply_changes, kit_seats
from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.errors import CombwrightError
from combwright.notes.keys import Key
from combwright.notes.names import HIGHEST_MIDI, LOWEST_MIDI, note_text
from combwright.notes.pitch import STANDARD_A4_HZ, a4_cents
from combwright.notes.temperament import EQUAL, Temperament

What = Literal["instrument", "plates"]
WHATS: Final[tuple[What, What]] = ("instrument", "plates")
_NO_PARTS: Final[Mapping[str, int]] = MappingProxyType({})


class BadWish(CombwrightError):
    """A wish whose parts do not go together.

    `problems` names what each is about (`key`, `layout`, `changes` or `kit`) and says it.
    """

    def __init__(self, *problems: tuple[str, str]) -> None:
        super().__init__(" ".join(text for _part, text in problems))
        self.problems = problems


@dataclass(frozen=True, slots=True)
class Wish:
    """What a customer wants of one copy.

    Parameters
    ----------
    key : Key
        Of the C form.
    layout : Layout
        In C.
    comb : Comb
        Where the plates must fit.
    what : {"instrument", "plates"}
        A whole instrument with its kit, or only the plates of the kit.
    changes : tuple of Change
        To the layout in its key.
    kit : tuple of KitLine
        The plates that go along.
    temperament : Temperament
        From the key.
    a4_hz : float
        Pitch standard, 415 to 466 Hz.
    """

    key: Key
    layout: Layout
    comb: Comb
    what: What = "instrument"
    changes: tuple[Change, ...] = ()
    kit: tuple[KitLine, ...] = ()
    temperament: Temperament = EQUAL
    a4_hz: float = STANDARD_A4_HZ


def design_of(wish: Wish) -> Design:
    """Turn a wish into the plates and parts that one copy wants.

    Raises
    ------
    BadWish
        If a change or a kit plate has no such seat, a note leaves the range of MIDI, the layout
        has reeds beyond the comb, or loose plates are wanted and none is named.
    """
    layout = sounding(wish)
    problems: list[tuple[str, str]] = []
    seats: tuple[Want, ...] = ()
    kit: tuple[KitWant, ...] = ()
    tonic = wish.key.pitch_class
    if wish.what == "instrument":
        try:
            seats = wants_of(layout, wish.comb, wish.temperament, tonic=tonic, a4_hz=wish.a4_hz)
        except CombwrightError as error:
            problems.append(("layout", str(error)))
    elif not wish.kit:
        problems.append(("kit", "loose plates are wanted, but none is named; write 5 draw, say."))
    try:
        kit = _kit(wish, layout)
    except CombwrightError as error:
        problems.append(("kit", str(error)))
    if problems:
        raise BadWish(*problems)
    parts = wish.comb.parts if wish.what == "instrument" else _NO_PARTS
    return Design(seats, kit, parts, title_of(wish), wish.comb)


def title_of(wish: Wish) -> str:
    """Return a wish in a line: `Key of A, third blow raised, 5 draw=D#5, 7-limit, A4 = 442 Hz`."""
    title = wish.layout.title
    facts = [f"Key of {wish.key.name}", title[:1].lower() + title[1:]]
    facts += [_changed(change) for change in wish.changes]
    if wish.temperament.name != EQUAL.name:
        facts.append(wish.temperament.name)
    if wish.a4_hz != STANDARD_A4_HZ:
        facts.append(f"A4 = {wish.a4_hz:g} Hz")
    text = ", ".join(facts)
    return text if wish.what == "instrument" else f"Plates for: {text[:1].lower() + text[1:]}"


def _changed(change: Change) -> str:
    note = "none" if change.midi is None else note_text(change.midi, change.cents)
    if change.deck is None:
        return f"{change.hole} {change.breath}={note}"
    return f"{change.hole} {change.deck}={note} {change.breath or ''}".rstrip()


def sounding(wish: Wish) -> Layout:
    """Return a wish's layout in its key, with its changes.

    Raises
    ------
    BadWish
        If a note leaves the range of MIDI or a change cannot be made.
    """
    moved = wish.layout.in_key(wish.key)
    outside = [seat for seat in moved.seats if not LOWEST_MIDI <= seat.midi <= HIGHEST_MIDI]
    if outside:
        text = (
            f"the key {wish.key.name} moves {outside[0].hole} {outside[0].breath} of "
            f"{wish.layout.title!r} out of the range C-1 to G9; choose another key."
        )
        raise BadWish(("key", text))
    try:
        return apply_changes(moved, wish.changes)
    except CombwrightError as error:
        raise BadWish(("changes", str(error))) from error


def _kit(wish: Wish, layout: Layout) -> tuple[KitWant, ...]:
    shift = a4_cents(wish.a4_hz)
    return tuple(
        KitWant(label, want_of(seat, wish.comb, wish.temperament, wish.key.pitch_class, shift))
        for label, seat in kit_seats(layout, wish.kit)
    )


class Designs:
    """Designs by wish, each made once.

    Wishes are told apart by the identity of their layout, comb, changes, kit and temperament, not
    by comparing those value by value; a reader that shares them makes this as fast as it can be.
    """

    def __init__(self) -> None:
        self._known: dict[tuple[object, ...], tuple[Wish, Design | BadWish]] = {}
        self._seats: dict[tuple[object, ...], tuple[Wish, tuple[Want, ...]]] = {}

    def of(self, wish: Wish) -> Design:
        """Return the design of a wish.

        Raises
        ------
        BadWish
            As `design_of`.
        """
        seats = (wish.what, wish.key.shift, id(wish.layout), id(wish.comb), id(wish.changes),
                 id(wish.temperament), wish.a4_hz)  # fmt: skip
        place = (*seats, id(wish.kit))
        if place not in self._known:
            # The wish is kept with its design: while it lives, so do the identities in its place.
            self._known[place] = (wish, self._made(wish, seats))
        found = self._known[place][1]
        if isinstance(found, BadWish):
            raise found.with_traceback(None)
        return found

    def _made(self, wish: Wish, seats: tuple[object, ...]) -> Design | BadWish:
        try:
            design = design_of(wish)
        except BadWish as error:
            return error
        # Wishes that differ in their kit alone share their seats.
        _first, shared = self._seats.setdefault(seats, (wish, design.seats))
        return replace(design, seats=shared)
