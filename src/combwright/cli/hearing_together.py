"""`combwright pitch --reeds 2`: several reeds of a recording, their beats, and which to touch."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import typer

from combwright.cli.inputs import say_json
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from combwright.ear.sound import Sound
    from combwright.ear.together import Together, Voice
    from combwright.notes.names import Note

_COUNTED: Final = {1: "one", 2: "two", 3: "three"}


class WrongExpectation(CombwrightError):
    """Another number of notes expected than reeds that sound."""

    def __init__(self, notes: int, reeds: int) -> None:
        many = "reed sounds" if reeds == 1 else "reeds sound"
        super().__init__(
            f"--expect names {notes} notes, but {reeds} {many}; name one note for each reed, as in "
            "A4,A5, or one for all, and say with --reeds how many sound."
        )


@dataclass(frozen=True, slots=True)
class _Told:
    """A voice beside its note: cents from the note as it is named, and from where it should be."""

    name: str
    voice: "Voice"
    cents: float
    off: float


def tell_together(
    sound: "Sound", reeds: int, wanted: "Sequence[Note]", a4_hz: float, *, as_json: bool
) -> None:
    """Measure several reeds and print them."""
    from combwright.ear.together import read_together
    from combwright.notes.pitch import hertz

    near = [float(hertz(each.midi, each.cents, a4_hz=a4_hz)) for each in wanted]
    heard = read_together(sound, reeds, near_hz=near)
    told = list(_told(heard, wanted, a4_hz))
    if as_json:
        say_json(together_document(heard, told))
        return
    for line in _lines(heard, told, sound.seconds):
        typer.echo(line)


def _told(heard: "Together", wanted: "Sequence[Note]", a4_hz: float) -> Iterator[_Told]:
    from combwright.notes.names import Note, note_name
    from combwright.notes.pitch import midi_of

    left = sorted(wanted, key=lambda note: note.midi + note.cents / 100)
    for n, voice in enumerate(heard.voices):
        exact = float(midi_of(voice.hz, a4_hz=a4_hz))
        note = Note(round(exact))
        if len(left) == len(heard.voices):
            note = left[n]
        elif left:
            note = min(left, key=lambda each: abs(each.midi + each.cents / 100 - exact))
        cents = 100 * (exact - note.midi)
        yield _Told(note_name(note.midi), voice, cents, cents - note.cents)


def together_document(heard: "Together", told: Sequence[_Told]) -> dict[str, object]:
    """Return what several reeds say, from low to high."""
    return {
        "schema": 1,
        "snr_db": round(heard.snr_db, 1),
        "unsure": heard.unsure,
        "reeds": [
            {
                "note": each.name,
                "hz": round(each.voice.hz, 5),
                "cents": round(each.cents, 4),
                "sd_cents": round(each.voice.sd_cents, 5),
            }
            for each in told
        ],
        "beat_hz": [round(beat.hz, 5) for beat in heard.beats],
        "found": len(told),
    }


def _lines(heard: "Together", told: Sequence[_Told], seconds: float) -> Iterator[str]:
    if len(told) < heard.asked:
        yield (
            f"Only {_COUNTED[len(told)]} of {_COUNTED[heard.asked]} reeds can be told in "
            f"{min(seconds, 3.0):.1f} s of sound: one is silent, too faint, or too near another."
        )
    for each in told:
        yield (
            f"{each.name} {each.cents:+.2f} cents, give or take "
            f"{max(0.01, each.voice.sd_cents):.2f}: {each.voice.hz:.3f} Hz"
        )
    for beat, lower, upper in zip(heard.beats, told, told[1:], strict=False):
        meet = f" (partial {beat.of_lower} of the lower, {beat.of_upper} of the upper)"
        yield (
            f"{lower.name} and {upper.name} beat {beat.hz:.2f} times a second, give or take "
            f"{max(0.01, beat.sd_hz):.2f}{'' if beat.of_lower == 1 else meet}"
        )
    if len(told) > 1:
        yield _advice(told)
    if heard.unsure:
        yield "The sound is too poor to be sure of this; record it again, closer and steadier."


def _advice(told: Sequence[_Told]) -> str:
    """Say which reed to touch: the one further from where it should be, as far as that is sure."""
    from combwright.ear.touching import surely, to_touch

    errors = [each.voice.sd_cents for each in told]
    touched = [told[n] for n in to_touch([each.off for each in told], errors)]
    if not touched:
        all_of = "Both" if len(told) == 2 else "All three"
        most = max(map(surely, errors))
        return f"{all_of} are within {most:.1f} cents of their notes: there is none to touch."
    if len(touched) == 1:
        return f"Touch {_named(touched[0], told)}: {_way(touched[0])}."
    first, second = touched
    return (
        f"{_named(first, told)} and {_named(second, told)} are equally far off: "
        f"{_way(first)}, and {_way(second)}."
    )


def _named(one: _Told, told: Sequence[_Told]) -> str:
    """Name a reed so that the two of a unison are told apart."""
    same = [each for each in told if each.name == one.name]
    if len(same) == 1:
        return one.name
    place = "lower" if one is same[0] else "higher" if one is same[-1] else "middle"
    return f"the {place} {one.name}"


def _way(one: _Told) -> str:
    return f"{abs(one.off):.2f} cents too {'high' if one.off > 0 else 'low'}"
