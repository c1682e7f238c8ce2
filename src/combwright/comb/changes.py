"""Changes to a layout, seat by seat: `5 draw=F#5; 3 lower=Bb4 draw; 1 blow=none`.

Pitches are sounding pitches, so a layout is moved into its key before it is changed. A suffix in
cents is the seat's own and adds to whatever the temperament gives it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import cast

from combwright.comb.layouts import Layout
from combwright.comb.seat_lines import BadChange, SeatLine, read_lines, reed_there
from combwright.comb.seat_names import SeatName, free_deck
from combwright.comb.seats import USUAL_DECK, Breath, Deck, Seat
from combwright.notes.names import note_text


@dataclass(frozen=True, slots=True)
class Change:
    """What one seat becomes.

    Parameters
    ----------
    hole : int
        From 1.
    deck : {"upper", "lower"} or None
        None when the seat is named by its breath alone.
    breath : {"blow", "draw"} or None
        None only where a seat named by its deck is emptied.
    midi : int or None
        The sounding note, None to empty the seat.
    cents : float
        The seat's own, beside the temperament.
    text : str
        As it was written.
    """

    hole: int
    deck: Deck | None
    breath: Breath | None
    midi: int | None
    cents: float
    text: str


def parse_changes(text: str) -> tuple[Change, ...]:
    """Read changes parted by semicolons; an empty text gives none.

    Raises
    ------
    BadChange
        If one of them cannot be read.
    """
    return tuple(_change(line) for line in read_lines(text))


def apply_changes(layout: Layout, changes: Sequence[Change]) -> Layout:
    """Return the layout with changes made one after the other.

    `5 draw` is the seat of that breath; where a hole has none, the new reed goes to the breath's
    usual deck if that is free, else to the other.

    Parameters
    ----------
    layout : Layout
        Sounding pitches: already in its key.
    changes : sequence of Change
        In order.

    Raises
    ------
    BadChange
        If the hole does not exist or has no room, if two reeds answer to the name, if there is
        nothing to take out, or if a seat is changed twice.
    """
    changed: set[tuple[int, Deck]] = set()
    for change in changes:
        name = SeatName(change.hole, change.deck, change.breath)
        old = reed_there(layout, name, change.text)
        deck = old.deck if old else _empty_deck(layout, change)
        if (change.hole, deck) in changed:
            raise BadChange(
                change.text, f"seat {change.hole} {deck} is changed twice; change it once"
            )
        changed.add((change.hole, deck))
        layout = _with_seat(layout, change, deck)
    return layout


@dataclass(frozen=True, slots=True)
class KitLine:
    """A spare plate that goes along with an instrument.

    Parameters
    ----------
    label : str
        The seat as it was named, such as `5 draw`.
    hole : int
        From 1.
    deck, breath
        What the name and the pitch's breath say of the seat; None where they say nothing.
    midi : int or None
        The sounding note; None for that seat's own.
    cents : float
        The plate's own, where a pitch is given.
    """

    label: str
    hole: int
    deck: Deck | None
    breath: Breath | None
    midi: int | None
    cents: float


def parse_kit(text: str) -> tuple[KitLine, ...]:
    """Read the plates of a kit, as in `5 draw; 5 draw; 5 draw=F#5`; an empty text gives none.

    Raises
    ------
    BadChange
        If one of them cannot be read.
    """
    return tuple(_kit_line(line) for line in read_lines(text))


def kit_seats(layout: Layout, lines: Sequence[KitLine]) -> tuple[tuple[str, Seat], ...]:
    """Return the label of each kit plate and the seat that it is a spare for.

    Parameters
    ----------
    layout : Layout
        Sounding and already changed: a plate named without a pitch is that seat's final one.
    lines : sequence of KitLine
        As read by `parse_kit`.

    Raises
    ------
    BadChange
        If the hole does not exist, if two reeds answer to a name, or if none does and the line
        does not say enough of the plate.
    """
    return tuple((line.label, _kit_seat(layout, line)) for line in lines)


def _change(line: SeatLine) -> Change:
    name, note = line.name, line.note
    if not line.assigns:
        raise BadChange(
            line.text, f"a change says what the seat becomes, as in {name}=F#5 or {name}=none"
        )
    if note is None:
        if line.breath and name.deck:
            raise BadChange(line.text, f"an emptied seat has no breath; write {name}=none")
        return Change(name.hole, name.deck, name.breath, None, 0.0, line.text)
    if line.breath is None:
        raise BadChange(
            line.text, f"a seat named by its deck needs the breath too, as in {line.text} draw"
        )
    return Change(name.hole, name.deck, line.breath, note.midi, note.cents, line.text)


def _kit_line(line: SeatLine) -> KitLine:
    name, note = line.name, line.note
    if line.assigns and note is None:
        raise BadChange(line.text, "a kit holds plates; name a pitch, or leave the line out")
    midi, cents = (note.midi, note.cents) if note else (None, 0.0)
    return KitLine(str(name), name.hole, name.deck, line.breath, midi, cents)


def _empty_deck(layout: Layout, change: Change) -> Deck:
    """Return which empty seat a change fills."""
    if change.midi is None:
        what = f"{change.breath} reed" if change.deck is None else f"{change.deck} plate"
        raise BadChange(change.text, f"hole {change.hole} has no {what} to take out")
    deck = change.deck or free_deck(layout, change.hole, cast("Breath", change.breath))
    if deck is None:
        raise BadChange(
            change.text,
            f"hole {change.hole} has no {change.breath} reed and both its seats are taken; "
            f"name the deck, as in {change.hole} lower={note_text(change.midi)} {change.breath}",
        )
    return deck


def _with_seat(layout: Layout, change: Change, deck: Deck) -> Layout:
    others = tuple(s for s in layout.seats if (s.hole, s.deck) != (change.hole, deck))
    if change.midi is None:
        return replace(layout, seats=others)
    breath = cast("Breath", change.breath)
    return replace(
        layout, seats=(*others, Seat(change.hole, deck, breath, change.midi, change.cents))
    )


def _kit_seat(layout: Layout, line: KitLine) -> Seat:
    seat = reed_there(layout, SeatName(line.hole, line.deck, line.breath), line.label)
    if line.midi is None:
        if seat is None:
            raise BadChange(
                line.label, f"that seat is empty; give the plate's pitch, as in {line.label}=F#5"
            )
        return seat
    breath = line.breath or (seat.breath if seat else None)
    if breath is None:
        raise BadChange(
            line.label, f"that seat is empty; give the breath too, as in {line.label}=F#5 draw"
        )
    deck = line.deck or (seat.deck if seat else USUAL_DECK[breath])
    return Seat(line.hole, deck, breath, line.midi, line.cents)
