"""What a layout plays, as the document of `show --json`."""

from typing import TYPE_CHECKING, Any, Final

from combwright.comb.chamber import bends, overbend, remark
from combwright.comb.chords import chords, octave_splits
from combwright.notes.keys import transposed_name
from combwright.notes.names import note_name

if TYPE_CHECKING:
    from collections.abc import Iterable

    from combwright.comb.difference import Difference, NoteChange, ReedChange
    from combwright.comb.layouts import Layout
    from combwright.comb.reach import Position
    from combwright.comb.seats import Seat

SCHEMA: Final = 1


def show_document(
    layout: "Layout", places: "tuple[Position, ...]", changed: "Difference"
) -> dict[str, Any]:
    """Return the document: seats, bends, overbends, positions, chords, and what changed.

    Parameters
    ----------
    layout : Layout
        As it sounds.
    places : tuple of Position
        Its scale in the twelve positions.
    changed : Difference
        What changed against another layout.
    """
    holes = range(1, layout.holes + 1)
    return {
        "schema": SCHEMA,
        "title": layout.title,
        "seats": [_seat(seat) for seat in layout.seats],
        "bends": [bend for hole in holes for bend in _bends(layout, hole)],
        "overbends": [
            {"hole": over.hole, "kind": over.kind, "pitch": note_name(over.midi)}
            for over in (overbend(layout, hole) for hole in holes)
            if over
        ],
        "positions": [_position(place) for place in places],
        "chords": [
            {
                "breath": chord.breath,
                "holes": list(chord.holes),
                "name": chord.name,
                "pitches": [note_name(midi) for midi in chord.midis],
            }
            for chord in (*chords(layout), *octave_splits(layout))
        ],
        "changed": [_reed(reed) for reed in changed.seats],
        "gained": _notes(changed.gained),
        "lost": _notes(changed.lost),
        "remarks": [
            {"hole": hole, "text": text} for hole in holes if (text := remark(layout, hole))
        ],
    }


def _seat(seat: "Seat") -> dict[str, Any]:
    return {
        "hole": seat.hole,
        "deck": seat.deck,
        "breath": seat.breath,
        "facing": seat.facing,
        "pitch": note_name(seat.midi),
        "cents": seat.cents,
    }


def _bends(layout: "Layout", hole: int) -> list[dict[str, Any]]:
    return [
        {
            "hole": bend.hole,
            "breath": bend.breath,
            "semitones": bend.semitones,
            "pitch": note_name(bend.midi),
        }
        for bend in bends(layout, hole)
    ]


def _position(place: "Position") -> dict[str, Any]:
    return {
        "position": place.position,
        "tonic": transposed_name(place.tonic),
        "scale": [{"pitch": note_name(step.midi), "how": step.how} for step in place.steps],
    }


def _reed(reed: "ReedChange") -> dict[str, Any]:
    return {
        "hole": reed.hole,
        "deck": reed.deck,
        "breath": reed.breath,
        "from": None if reed.from_midi is None else note_name(reed.from_midi),
        "to": None if reed.to_midi is None else note_name(reed.to_midi),
    }


def _notes(changes: "Iterable[NoteChange]") -> list[dict[str, Any]]:
    return [{"pitch": note_name(change.midi), "how": change.how} for change in changes]
