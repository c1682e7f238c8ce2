"""`combwright pitch`: recordings measured."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.hearing_together import WrongExpectation, tell_together
from combwright.cli.inputs import AsJson, noted, number, say_json

if TYPE_CHECKING:
    from combwright.ear.readings import Reading
    from combwright.notes.names import Note

SoundFile = Annotated[
    Path, typer.Argument(metavar="FILE", help="The recording: a WAV or FLAC file.")
]
A4 = Annotated[str, typer.Option("--a4", metavar="HZ", help="The pitch standard, 415 to 466 Hz.")]


def pitch(
    file: SoundFile,
    expect: Annotated[
        str | None,
        typer.Option(
            "--expect",
            metavar="NOTES",
            help="The note that it should be, as in A4, or one of each reed: A4,A5. Cents from it.",
        ),
    ] = None,
    reeds: Annotated[
        int,
        typer.Option(
            "--reeds", metavar="N", help="How many sound at once: 1, 2 or 3.", min=1, max=3
        ),
    ] = 1,
    a4: A4 = "440",
    as_json: AsJson = False,
) -> None:
    """Measure the reed of a recording, or two or three at once: notes, cents, how sure, beats."""
    from combwright.ear.readings import read_reed
    from combwright.ear.stretches import longest
    from combwright.files.sounds import read_sound
    from combwright.notes.pitch import check_a4, hertz

    standard = check_a4(number(a4))
    wanted = _expected(expect, reeds)
    sound = noted(read_sound(file))
    part = longest(sound).settled()
    heard = sound.part(part.start_s, part.end_s)
    if reeds > 1:
        tell_together(heard, reeds, wanted, standard, as_json=as_json)
        return
    near = None
    if wanted:
        near = float(hertz(wanted[0].midi, wanted[0].cents, a4_hz=standard))
    reading = read_reed(heard, near_hz=near)
    document = pitch_document(reading, standard, wanted[0].midi if wanted else None)
    if as_json:
        say_json(document)
        return
    typer.echo(_line(document, reading))


def _expected(text: str | None, reeds: int) -> "list[Note]":
    """Read the notes that are expected; one alone stands for all reeds, in unison."""
    from combwright.notes.names import parse_note

    notes = [parse_note(each.strip()) for each in (text or "").split(",") if each.strip()]
    if text is not None and len(notes) not in {1, reeds}:
        raise WrongExpectation(len(notes), reeds)
    return notes * reeds if len(notes) == 1 else notes


def pitch_document(reading: "Reading", a4_hz: float, midi: int | None = None) -> dict[str, object]:
    """Return what a reading says, from the nearest note or from a note that was expected."""
    from combwright.notes.names import note_name
    from combwright.notes.pitch import midi_of

    exact = float(midi_of(reading.hz, a4_hz=a4_hz))
    nearest = round(exact) if midi is None else midi
    return {
        "schema": 1,
        "note": note_name(nearest),
        "hz": round(reading.hz, 5),
        "cents": round(100 * (exact - nearest), 4),
        "sd_cents": round(reading.sd_cents, 5),
        "snr_db": round(reading.snr_db, 1),
        "unsure": reading.unsure,
    }


def _line(document: dict[str, object], reading: "Reading") -> str:
    sure = "; another octave is possible" if reading.unsure else ""
    return (
        f"{document['note']} {document['cents']:+.2f} cents, give or take "
        f"{max(0.01, reading.sd_cents):.2f}: {reading.hz:.3f} Hz, "
        f"{reading.snr_db:.0f} dB over the rest{sure}"
    )
