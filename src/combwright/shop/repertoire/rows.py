"""Tunes as rows of a table, and back."""

import hashlib
from dataclasses import replace
from itertools import pairwise
from statistics import median_high
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.notes.names import note_name
from combwright.tunes.keeping import from_plain, to_plain
from combwright.tunes.tune import Tune

LONGEST: Final = 200
#: Notes that stand for a tune's beginning.
FIRST: Final = 12
#: The fields of a row, apart from its place and whose it is.
ROW: Final = ("title", "source", "notes", "lowest", "highest", "remarks", "mark", "music")


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
    """Return the first notes by name, with strokes where bars begin."""
    notes, lines = music["notes"], sorted(music.get("bars", ()))
    named, before = [], 0
    for n, (midi, start, _lasts) in enumerate(notes[:FIRST]):
        if n and any(before < line <= start for line in lines[: 2 * FIRST]):
            named.append("|")
        named.append(note_name(midi))
        before = start
    return " ".join([*named, *(["…"] if len(notes) > FIRST else [])])


def bars_in(music: dict[str, Any]) -> int | None:
    """Return how many bars a tune has, upbeats not counted; None where nothing tells."""
    lines, notes = music.get("bars", ()), music["notes"]
    if not lines or not notes:
        return None
    begins, (_midi, last, length) = notes[0][1], notes[-1]
    ends = last + length
    inner = sorted(line for line in lines if begins < line < ends)
    lengths = [after - before for before, after in pairwise([begins, *inner, ends])]
    usual = median_high(lengths)
    return len([each for each in lengths if 2 * each > usual])


def signature(music: dict[str, Any]) -> str:
    """Return a tune's first key signature in words; nothing where nothing tells."""
    fifths: int | None = music.get("fifths")
    if fifths is None:
        return ""
    if not fifths:
        return _("no sharps or flats")
    if fifths > 0:
        return ngettext("%d sharp", "%d sharps", fifths) % fifths
    return ngettext("%d flat", "%d flats", -fifths) % -fifths


def span(lowest: int, highest: int) -> str:
    """Return a range in words."""
    return f"{note_name(lowest)}–{note_name(highest)}"


def cut(text: str) -> str:
    """Return a text that fits a row."""
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
