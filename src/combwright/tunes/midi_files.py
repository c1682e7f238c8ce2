"""Standard MIDI files, read by mido: the top line of the first track and channel that has notes."""

from collections import defaultdict
from io import BytesIO
from typing import Final

from combwright.files.results import one_line
from combwright.tunes.tune import (
    MOST_NOTES,
    WHOLE,
    BadTune,
    Reading,
    Tune,
    TuneNote,
    one_at_a_time,
)

#: The channel of drums, from 0, in General MIDI (common practice).
_DRUMS: Final = 9
_MOST_MESSAGES: Final = 20 * MOST_NOTES


def read_midi(data: bytes, name: str) -> Reading:
    """Read the tune of a MIDI file; what is wrong is one line."""
    try:
        return Reading((_tune(data, name),))
    except BadTune as error:
        return Reading(faults=(one_line(f"{name}: {error}."),))


def _tune(data: bytes, name: str) -> Tune:
    import mido

    try:
        file = mido.MidiFile(file=BytesIO(data), clip=True)
    except EOFError:
        raise BadTune("it ends in the middle; it is cut short") from None
    except (OSError, ValueError, LookupError, TypeError, AttributeError) as error:
        # mido has no error of its own for most of what can be wrong with a file.
        raise BadTune(one_line(f"it is no sound MIDI file: {error}")) from error
    if file.ticks_per_beat <= 0:
        raise BadTune("it counts time in film frames; save it with beats")
    title = ""
    lines: dict[tuple[int, int], list[TuneNote]] = {}
    for number, track in enumerate(file.tracks):
        title = title or one_line(track.name).strip()
        lines |= {(number, ch): notes for ch, notes in _lines(track, file.ticks_per_beat).items()}
    if not lines:
        raise BadTune("it has no notes")
    first = lines[min(lines)]
    remarks = ("only the first track and channel with notes is read",) if len(lines) > 1 else ()
    return Tune(title or name, one_at_a_time(first), name, remarks)


def _lines(track: "list[object]", beat: int) -> dict[int, list[TuneNote]]:
    """Return the notes of each channel of a track, drums left out."""
    found: dict[int, list[TuneNote]] = defaultdict(list)
    sounding: dict[tuple[int, int], int] = {}
    now = 0
    if len(track) > _MOST_MESSAGES:
        raise BadTune(f"a track has more than {_MOST_MESSAGES:,} messages; part it into tunes")
    for message in track:
        now += message.time  # type: ignore[attr-defined]
        kind = message.type  # type: ignore[attr-defined]
        if kind not in ("note_on", "note_off"):
            continue
        place = message.channel, message.note  # type: ignore[attr-defined]
        if place in sounding:
            start = sounding.pop(place)
            found[place[0]].append(_note(place[1], start, now, beat))
        if kind == "note_on" and message.velocity and place[0] != _DRUMS:  # type: ignore[attr-defined]
            sounding[place] = now
    for (channel, midi), start in sounding.items():
        found[channel].append(_note(midi, start, max(now, start + 1), beat))
    if any(len(notes) > MOST_NOTES for notes in found.values()):
        raise BadTune(f"it has more than {MOST_NOTES:,} notes; part it into tunes")
    return found


def _note(midi: int, start: int, end: int, beat: int) -> TuneNote:
    first, last = (round(tick * WHOLE / (4 * beat)) for tick in (start, end))
    return TuneNote(midi, first, max(1, last - first))
