"""`combwright take`: a recording of a whole instrument, each note given to its seat."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.hearing import A4, SoundFile
from combwright.cli.inputs import AsJson, noted, number, say_json
from combwright.cli.shows import Changes, KeyName, sounding_layout

if TYPE_CHECKING:
    from combwright.comb.seats import Seat
    from combwright.ear.takes import Take, Target
    from combwright.notes.temperament import Temperament


LayoutName = Annotated[
    str, typer.Option("--layout", metavar="NAME", help="A layout of the catalogue or a TOML file.")
]
TemperamentName = Annotated[
    str,
    typer.Option(
        "--temperament", metavar="NAME", help="equal, 5-limit, 7-limit, 19-limit or a TOML file."
    ),
]
Order = Annotated[
    str,
    typer.Option(
        "--order",
        metavar="SEATS",
        help="As it was played: '1 blow, 1 draw, ...'; hole by hole, blow first, without.",
    ),
]


def take(
    file: SoundFile,
    layout: LayoutName = "standard",
    key: KeyName = "C",
    change: Changes = None,
    temperament: TemperamentName = "equal",
    a4: A4 = "440",
    order: Order = "",
    as_json: AsJson = False,
) -> None:
    """Measure every reed of an instrument from one recording, and say what is missing."""
    from combwright.ear.takes import hear_take
    from combwright.files.sounds import read_sound

    targets = targets_from(layout, key, change, temperament, a4, order)
    heard = hear_take(noted(read_sound(file)), targets)
    if as_json:
        say_json(_document(heard))
        return
    for line in _lines(heard):
        typer.echo(line)


def targets_from(
    layout: str, key: str, change: list[str] | None, temperament: str, a4: str, order: str
) -> "tuple[Target[Seat], ...]":
    """Return every seat with its pitch, as they were played."""
    from combwright.comb.playing_order import playing_order
    from combwright.files.temperaments import look_up_temperament
    from combwright.notes.keys import parse_key
    from combwright.notes.pitch import check_a4

    root, standard = parse_key(key), check_a4(number(a4))
    tempered = noted(look_up_temperament(temperament, Path()))
    seats = playing_order(sounding_layout(layout, root, change or []), order)
    return tuple(_target(seat, tempered, root.pitch_class, standard) for seat in seats)


def _target(seat: "Seat", temperament: "Temperament", tonic: int, a4_hz: float) -> "Target[Seat]":
    from combwright.ear.takes import Target
    from combwright.notes.pitch import hertz

    cents = seat.cents + temperament.offset(seat.midi, tonic, seat.hole, seat.breath)
    return Target(seat, float(hertz(seat.midi, cents, a4_hz=a4_hz)))


def _document(heard: "Take[Seat]") -> dict[str, object]:
    return {
        "schema": 1,
        "notes": [
            {
                **_place(note.seat),
                "start_s": round(note.stretch.start_s, 3),
                "end_s": round(note.stretch.end_s, 3),
                "hz": round(note.reading.hz, 5),
                "cents": round(note.cents, 4),
                "sd_cents": round(note.reading.sd_cents, 5),
                "unsure": note.unsure,
            }
            for note in heard.notes
        ],
        "missing": [_place(seat) for seat in heard.missing],
        "ignored": [
            {
                "start_s": round(each.stretch.start_s, 3),
                "end_s": round(each.stretch.end_s, 3),
                "why": each.why,
            }
            for each in heard.ignored
        ],
        "remarks": list(_remarks(heard)),
    }


def _place(seat: "Seat") -> dict[str, object]:
    return {"hole": seat.hole, "deck": seat.deck, "breath": seat.breath}


def _remarks(heard: "Take[Seat]") -> Iterator[str]:
    for one, other in heard.interchanged:
        yield (f"{one.hole} {one.breath} and {other.hole} {other.breath} seem interchanged")
    for seat in heard.silent:
        yield f"{seat.hole} {seat.breath} is silent: breath at its turn, but no note"


def _lines(heard: "Take[Seat]") -> Iterator[str]:
    """Write the reeds furthest off first."""
    from combwright.notes.names import note_name

    yield from _remarks(heard)
    for seat in heard.missing:
        if seat not in heard.silent:
            yield f"{seat.hole} {seat.breath}: not heard"
    for note in sorted(heard.notes, key=lambda note: -abs(note.cents)):
        doubt = "  (unsure)" if note.unsure else ""
        yield (
            f"{note.seat.hole:>2} {note.seat.breath:<4} {note_name(note.seat.midi):<4}"
            f"{note.cents:+8.2f} cents, give or take {max(0.01, note.reading.sd_cents):.2f}{doubt}"
        )
    for each in heard.ignored:
        yield f"Left out {each.stretch.start_s:.1f} to {each.stretch.end_s:.1f} s: {each.why}"
