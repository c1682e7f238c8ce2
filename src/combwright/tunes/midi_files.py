"""Standard MIDI files, read by mido: the top line of the first track and channel that has notes."""

from collections import defaultdict
from fractions import Fraction
from io import BytesIO
from typing import TYPE_CHECKING, Any, Final

from combwright.files.results import one_line
from combwright.tunes.abc_keys import metre_of, read_key, sharps_of
from combwright.tunes.pace import step
from combwright.tunes.tune import (
    MOST_NOTES,
    WHOLE,
    BadTune,
    Reading,
    Tune,
    TuneNote,
    grains,
    one_at_a_time,
)

if TYPE_CHECKING:
    import mido

#: The channel of drums, from 0, in General MIDI (common practice).
_DRUMS: Final = 9
#: A file of notes alone that is larger than this holds no tune.
_MOST_BYTES: Final = 2 * 2**20
#: A metre that counts shorter notes than these is damage.
_SHORTEST: Final = 64
_MOST_MESSAGES: Final = 20 * MOST_NOTES


def read_midi(data: bytes, name: str) -> Reading:
    """Read the tune of a MIDI file; what is wrong is one line."""
    step()
    try:
        return Reading((_tune(data, name),))
    except BadTune as error:
        return Reading(faults=(one_line(f"{name}: {error}."),))


def _tune(data: bytes, name: str) -> Tune:
    if len(data) > _MOST_BYTES:
        raise BadTune(f"it has more than {_MOST_BYTES // 2**20} MiB; a tune has far less")
    import mido

    try:
        file = mido.MidiFile(file=BytesIO(data), clip=True)
    except EOFError:
        raise BadTune("it ends in the middle; it is cut short") from None
    except _damage() as error:
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
    notes = one_at_a_time(first)
    signs = _signs(file)
    bars = _bars(signs, file.ticks_per_beat, notes[-1].start + notes[-1].length)
    return Tune(title or name, notes, name, remarks, bars, _fifths(signs), _metre(signs))


def _damage() -> tuple[type[Exception], ...]:
    """Return what mido raises at a file that is damaged."""
    import mido

    return OSError, ValueError, LookupError, TypeError, AttributeError, mido.KeySignatureError


def _signs(file: "mido.MidiFile") -> list[tuple[int, Any]]:
    """Return the signs of key and metre of all tracks with their ticks, in order."""
    found = []
    for track in file.tracks:
        now = 0
        for message in track:
            now += message.time
            if message.type in ("key_signature", "time_signature"):
                found.append((now, message))
    return sorted(found, key=lambda each: each[0])


def _bars(signs: list[tuple[int, Any]], beat: int, end: int) -> tuple[int, ...]:
    """Return where bar lines stand, in grains; none where no metre is said."""
    metres = [
        (_grains(now, beat), grains(Fraction(sign.numerator, sign.denominator)))
        for now, sign in signs
        if sign.type == "time_signature" and sign.numerator and sign.denominator <= _SHORTEST
    ]
    ends = [*(start for start, _ in metres[1:]), end]
    places = {
        at
        for (start, step), stop in zip(metres, ends, strict=False)
        for at in range(start, min(stop, start + step * MOST_NOTES), step)
    }
    return tuple(sorted(places - {0}))


def _fifths(signs: list[tuple[int, Any]]) -> int | None:
    named = next((sign.key for _, sign in signs if sign.type == "key_signature"), None)
    return None if named is None else sharps_of(read_key(named))


def _metre(signs: list[tuple[int, Any]]) -> str:
    found = next((sign for _, sign in signs if sign.type == "time_signature"), None)
    return "" if found is None else metre_of(f"{found.numerator}/{found.denominator}")


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
    first, last = _grains(start, beat), _grains(end, beat)
    return TuneNote(midi, first, max(1, last - first))


def _grains(tick: int, beat: int) -> int:
    return round(tick * WHOLE / (4 * beat))
