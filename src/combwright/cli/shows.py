"""`combwright show`: what a layout plays."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.inputs import AsJson, noted, say_json

if TYPE_CHECKING:
    from combwright.comb.difference import Difference
    from combwright.comb.layouts import Layout
    from combwright.comb.reach import Position, Sound
    from combwright.notes.keys import Key

KeyName = Annotated[
    str,
    typer.Option("--key", metavar="KEY", help="The key of the C form: A, Bb, 'low F', 'high G'."),
]
Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--change",
        metavar="SEAT=NOTE",
        help="A changed seat, sounding: '5 draw=F#5'. May be given several times.",
    ),
]


def show(
    layout: Annotated[
        str, typer.Argument(metavar="LAYOUT", help="A layout of the catalogue or a TOML file.")
    ],
    key: KeyName = "C",
    change: Changes = None,
    scale: Annotated[
        str,
        typer.Option("--scale", metavar="SCALE", help="The scale shown in the twelve positions."),
    ] = "major",
    against: Annotated[
        str,
        typer.Option("--against", metavar="LAYOUT", help="The layout that it is compared with."),
    ] = "standard",
    as_json: AsJson = False,
) -> None:
    """Show what a layout plays: notes, bends, overbends, positions, chords, gains and losses."""
    from combwright.cli.show_document import show_document
    from combwright.comb.difference import difference
    from combwright.comb.reach import positions
    from combwright.notes.keys import parse_key

    root = parse_key(key)
    found = sounding_layout(layout, root, change or [])
    places = positions(found, root.pitch_class, scale=scale)
    changed = difference(sounding_layout(against, root, []), found)
    if as_json:
        say_json(show_document(found, places, changed))
        return
    for line in _lines(found, root, places, changed, scale=scale, against=against):
        typer.echo(line)


def sounding_layout(name: str, key: "Key", changes: list[str]) -> "Layout":
    """Return a layout of the catalogue or of a file, in its key and changed."""
    from combwright.comb.changes import apply_changes, parse_changes
    from combwright.files.layouts import look_up_layout

    moved = noted(look_up_layout(name, Path())).in_key(key)
    return apply_changes(moved, parse_changes("; ".join(changes)))


def _lines(
    layout: "Layout",
    key: "Key",
    places: "tuple[Position, ...]",
    changed: "Difference",
    *,
    scale: str,
    against: str,
) -> Iterator[str]:
    from combwright.notes.keys import transposed_name
    from combwright.notes.names import note_name

    yield f"{layout.title}, key of {key.name}"
    yield from _holes(layout)
    yield ""
    yield f"Scale of the {scale} kind, position by position:"
    for each in places:
        steps = " ".join(f"{note_name(s.midi)}{_MARKS[s.how]}" for s in each.steps)
        yield f"  {each.position:>2} in {transposed_name(each.tonic):<3} {steps}"
    yield "  (plain: natural, ': bend, ^: overbend, -: missing)"
    yield ""
    yield from _chord_lines(layout)
    yield ""
    yield f"Against {against}:"
    yield from _difference_lines(changed)


_MARKS = {"natural": "", "bend": "'", "overbend": "^", "missing": "-"}


def _holes(layout: "Layout") -> Iterator[str]:
    from combwright.comb.chamber import remark
    from combwright.comb.reach import sounds

    by_hole: dict[int, list[Sound]] = {}
    for ways in sounds(layout).values():
        for sound in ways:
            by_hole.setdefault(sound.hole, []).append(sound)
    for hole in range(1, layout.holes + 1):
        gives = by_hole.get(hole, [])
        parts = [
            _named(gives, "blow", "natural"),
            _named(gives, "draw", "natural"),
            _named(gives, "", "bend"),
            _named(gives, "", "overbend"),
        ]
        line = f"  hole {hole:>2}  " + "  ".join(f"{part:<16}" for part in parts)
        yield line.rstrip()
        if text := remark(layout, hole):
            yield f"           {text}"


def _named(gives: "list[Sound]", breath: str, how: str) -> str:
    from combwright.notes.names import note_name

    found = [s for s in gives if s.how == how and breath in ("", s.breath)]
    if not found:
        return ""
    notes = " ".join(note_name(s.midi) for s in sorted(found, key=lambda s: s.semitones))
    word = {"natural": breath, "bend": f"{found[0].breath} bend"}.get(how)
    return f"{word or 'over' + found[0].breath} {notes}"


def _chord_lines(layout: "Layout") -> Iterator[str]:
    from combwright.comb.chords import chords, octave_splits

    yield "Chords on three and four neighbouring holes, and octave splits:"
    for chord in chords(layout):
        if len(chord.holes) > 2:
            yield f"  {chord.breath} {chord.holes[0]} to {chord.holes[-1]}: {chord.name}"
    for chord in octave_splits(layout):
        yield f"  {chord.breath} {chord.holes[0]} and {chord.holes[-1]}: {chord.name}"


def _difference_lines(changed: "Difference") -> Iterator[str]:
    from combwright.notes.names import note_name

    if not changed.seats:
        yield "  no reed differs"
        return
    for reed in changed.seats:
        before, after = (
            "none" if midi is None else note_name(midi) for midi in (reed.from_midi, reed.to_midi)
        )
        yield f"  {reed.hole} {reed.breath} ({reed.deck}): {before} becomes {after}"
    for word, notes in (("gained", changed.gained), ("lost", changed.lost)):
        named = ", ".join(f"{note_name(n.midi)} ({n.how})" for n in notes) or "nothing"
        yield f"  {word}: {named}"
