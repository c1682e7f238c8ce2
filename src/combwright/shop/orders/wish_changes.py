"""What is done to a wish's seats, and the shortest changes text that says so.

Everything here works on layouts as they sound and knows no database. A wish keeps its base layout
and a changes text; whatever is done on the drawn comb ends as a new text of that kind.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import permutations, product
from typing import Final

from django.utils.translation import gettext as _

from combwright.comb.changes import apply_changes, parse_changes, parse_kit
from combwright.comb.layouts import Layout
from combwright.comb.seats import DECKS, USUAL_DECK, Breath, Deck, Seat
from combwright.errors import CombwrightError
from combwright.notes.names import HIGHEST_MIDI, LOWEST_MIDI, Note, note_text, parse_note
from combwright.sheets.plates import Place

_USUAL_BREATH: Final[dict[Deck, Breath]] = {deck: breath for breath, deck in USUAL_DECK.items()}
_OTHER: Final[dict[Breath, Breath]] = {"blow": "draw", "draw": "blow"}
#: How people write that a seat stays empty in a line of notes.
_NOTHING: Final = frozenset({"-", "–", "—", ".", "_", "x", "none", '""'})


class CannotEdit(CombwrightError):
    """Something that cannot be done to a seat, or a base that cannot become what is wanted."""


def changes_between(base: Layout, wanted: Layout) -> str:
    """Return the shortest changes text that makes one layout's seats another's.

    A seat is named by its breath wherever that is enough, for that is shorter and what people say;
    by its deck where two reeds would answer to the breath or the reed would go to the other deck.

    Parameters
    ----------
    base : Layout
        In its key.
    wanted : Layout
        As it is to sound; cents to the thousandth.

    Raises
    ------
    CannotEdit
        If a reed is wanted in a hole that the base does not have.
    """
    beyond = [seat.hole for seat in wanted.seats if seat.hole > base.holes]
    if beyond:
        raise CannotEdit(
            _("Hole %(hole)d is wanted, but layout %(title)s has %(holes)d holes; start from a "
              "layout with more.")
            % {"hole": beyond[0], "title": base.title, "holes": base.holes}
        )  # fmt: skip
    holes = range(1, base.holes + 1)
    return "; ".join(text for hole in holes for text in _hole(base, wanted, hole))


def _hole(base: Layout, wanted: Layout, hole: int) -> tuple[str, ...]:
    """Return the changes of one hole: of all ways to write them that work, the shortest."""
    now, then = _alone(base, hole), _alone(wanted, hole)
    changed = [deck for deck in DECKS if now.at(hole, deck) != then.at(hole, deck)]
    ways = (
        texts
        for order in permutations(changed)
        for texts in product(*(_named(now, then, hole, deck) for deck in order))
        if _works(now, texts, then)
    )
    return min(ways, key=lambda texts: sum(len(text) for text in texts))


def _alone(layout: Layout, hole: int) -> Layout:
    """Return a layout with the reeds of one hole only; holes do not touch one another."""
    seats = tuple(seat for seat in layout.seats if seat.hole == hole)
    return Layout("", seats, holes=max(hole, 1))


def _named(now: Layout, then: Layout, hole: int, deck: Deck) -> tuple[str, ...]:
    """Return the ways to write what becomes of one seat: by its breath, and by its deck."""
    was, will = now.at(hole, deck), then.at(hole, deck)
    if will is not None:
        note = note_text(will.midi, will.cents)
        return f"{hole} {will.breath}={note}", f"{hole} {deck}={note} {will.breath}"
    by_breath = (f"{hole} {was.breath}=none",) if was is not None else ()
    return (*by_breath, f"{hole} {deck}=none")


def _works(now: Layout, texts: Iterable[str], then: Layout) -> bool:
    try:
        return apply_changes(now, parse_changes("; ".join(texts))).seats == then.seats
    except CombwrightError:
        return False


def tuned(layout: Layout, place: Place, note: Note, breath: Breath | None = None) -> Layout:
    """Give a seat a note; an empty seat's reed speaks on the usual breath of its deck."""
    hole, deck = place
    there = layout.at(hole, deck)
    kept = breath or (there.breath if there else _USUAL_BREATH[deck])
    return _with(layout, Seat(hole, deck, kept, note.midi, note.cents))


def raised(layout: Layout, place: Place, semitones: int) -> Layout:
    """Move a seat's pitch by semitones.

    Raises
    ------
    CannotEdit
        If the seat is empty or the note would leave the range of MIDI.
    """
    seat = _there(layout, place)
    midi = seat.midi + semitones
    if not LOWEST_MIDI <= midi <= HIGHEST_MIDI:
        raise CannotEdit(_("That is beyond the range C-1 to G9; no reed sounds there."))
    return _with(layout, replace(seat, midi=midi))


def turned_over(layout: Layout, place: Place) -> Layout:
    """Turn a plate over in its seat: what spoke on blow speaks on draw.

    Raises
    ------
    CannotEdit
        If the seat is empty.
    """
    seat = _there(layout, place)
    return _with(layout, replace(seat, breath=_OTHER[seat.breath]))


def emptied(layout: Layout, place: Place) -> Layout:
    """Take a plate out.

    Raises
    ------
    CannotEdit
        If the seat is empty already.
    """
    _there(layout, place)
    return _without(layout, place)


def moved(layout: Layout, place: Place, to: Place) -> Layout:
    """Move a plate to another seat; the one that lies there comes here. Both keep their breath.

    Raises
    ------
    CannotEdit
        If the seat is empty or the other one is not on the layout.
    """
    seat = _there(layout, place)
    if not 1 <= to[0] <= layout.holes:
        raise CannotEdit(
            _("There is no hole %(hole)d: holes run from 1 to %(holes)d.")
            % {"hole": to[0], "holes": layout.holes}
        )
    other = layout.at(*to)
    bare = _without(_without(layout, place), to)
    if other is not None:
        bare = _with(bare, replace(other, hole=place[0], deck=place[1]))
    return _with(bare, replace(seat, hole=to[0], deck=to[1]))


def moved_kit(text: str, semitones: int) -> str:
    """Return a kit's text with its pitches moved; plates named by their seat alone move with it.

    Raises
    ------
    BadChange
        If the text is no kit.
    """
    if not semitones:
        return text
    lines = []
    for line in parse_kit(text):
        if line.midi is None:
            lines.append(line.label)
            continue
        breath = f" {line.breath}" if line.breath and line.deck else ""
        lines.append(f"{line.label}={note_text(line.midi + semitones, line.cents)}{breath}")
    return "; ".join(lines)


def from_lines(blow: str, draw: str, *, semitones: int = 0) -> Layout:
    """Read two lines of notes, hole 1 first; a hyphen is an empty seat.

    Parameters
    ----------
    blow, draw : str
        As `C4 E4 G4 -`, parted by blanks or commas.
    semitones : int
        By how much they are to be moved: the key's shift for notes written in C.

    Raises
    ------
    CannotEdit
        If the lines differ in length, are empty or too long, or one of the notes cannot be read.
    """
    rows: dict[Breath, list[Note | None]] = {
        "blow": [*_notes(blow, _("Blow notes"))],
        "draw": [*_notes(draw, _("Draw notes"))],
    }
    many = {breath: len(notes) for breath, notes in rows.items()}
    if many["blow"] != many["draw"]:
        raise CannotEdit(
            _("There are %(blow)d blow notes and %(draw)d draw notes; give one of each a hole, a "
              "hyphen for an empty seat.")
            % many
        )  # fmt: skip
    seats = [
        Seat(hole, USUAL_DECK[breath], breath, note.midi + semitones, note.cents)
        for breath, notes in rows.items()
        for hole, note in enumerate(notes, start=1)
        if note is not None
    ]
    if any(not LOWEST_MIDI <= seat.midi <= HIGHEST_MIDI for seat in seats):
        raise CannotEdit(_("In this key a note leaves the range C-1 to G9; choose another key."))
    return Layout(_("two lines of notes"), tuple(seats), holes=many["blow"])


def _notes(line: str, name: str) -> Iterator[Note | None]:
    for place, word in enumerate(line.replace(",", " ").replace(";", " ").split(), start=1):
        if word.lower() in _NOTHING:
            yield None
            continue
        try:
            yield parse_note(word)
        except CombwrightError as error:
            said = {"line": name, "place": place, "problem": error}
            raise CannotEdit(_("%(line)s, hole %(place)d: %(problem)s") % said) from error


def _there(layout: Layout, place: Place) -> Seat:
    seat = layout.at(*place)
    if seat is None:
        raise CannotEdit(_("Seat %d %s is empty; give it a note first.") % place)
    return seat


def _without(layout: Layout, place: Place) -> Layout:
    kept = tuple(seat for seat in layout.seats if (seat.hole, seat.deck) != place)
    return replace(layout, seats=kept)


def _with(layout: Layout, seat: Seat) -> Layout:
    bare = _without(layout, (seat.hole, seat.deck))
    return replace(bare, seats=(*bare.seats, seat))
