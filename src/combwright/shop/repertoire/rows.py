"""Tunes as rows of a table, and back."""

import hashlib
from dataclasses import replace
from typing import Any, Final

from combwright.notes.names import note_name
from combwright.tunes.keeping import from_plain, to_plain
from combwright.tunes.tune import Tune

LONGEST: Final = 200
#: Notes that stand for a tune's beginning.
FIRST: Final = 12
#: What a list of tunes needs; the music itself is long.
SHORT: Final = ("place", "title", "source", "notes", "lowest", "highest", "remarks")


def row_of(tune: Tune) -> dict[str, Any]:
    """Return the fields of a row, without its place."""
    pitches = tune.pitches or (0,)
    return {
        "title": cut(tune.title),
        "source": cut(tune.source),
        "notes": len(tune.notes),
        "lowest": min(pitches),
        "highest": max(pitches),
        "remarks": list(tune.remarks),
        "mark": mark_of(tune),
        "music": to_plain(tune),
    }


def tune_of(music: dict[str, Any], title: str) -> Tune:
    """Return a tune as it was read, under the title that it has here."""
    return replace(from_plain(music), title=title)


def mark_of(tune: Tune) -> str:
    """Return a mark that tunes of the same notes share, whatever they are called."""
    first = tune.notes[0].start if tune.notes else 0
    notes = [(note.midi, note.start - first, note.length) for note in tune.notes]
    return hashlib.sha256(repr(notes).encode()).hexdigest()[:32]


def beginning(music: dict[str, Any]) -> str:
    """Return the first notes by name."""
    notes = music["notes"]
    named = " ".join(note_name(midi) for midi, _start, _length in notes[:FIRST])
    return f"{named} …" if len(notes) > FIRST else named


def span(lowest: int, highest: int) -> str:
    """Return a range in words."""
    return f"{note_name(lowest)}–{note_name(highest)}"


def cut(text: str) -> str:
    """Return a text that fits a row."""
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
