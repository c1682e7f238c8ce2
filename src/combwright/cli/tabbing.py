"""`combwright tab`: how to play tunes on one instrument."""

from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.inputs import AsJson, say_json
from combwright.cli.playing import LayoutName, Player, TuneFiles, costs_of, tunes_of
from combwright.cli.shows import Changes, KeyName, sounding_layout
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from collections.abc import Sequence


class BadShift(CombwrightError):
    """A shift that is neither a number of semitones nor one of the words."""


def tab(
    tunes: TuneFiles,
    layout: LayoutName = "standard",
    key: KeyName = "C",
    change: Changes = None,
    shift: Annotated[
        str,
        typer.Option(
            "--shift",
            metavar="SHIFT",
            help="Semitones up (-3 is down), or 'octave' or 'best' for the cheapest such shift.",
        ),
    ] = "0",
    player: Player = "intermediate",
    as_json: AsJson = False,
) -> None:
    """Show how to play tunes on an instrument: hole, breath, bends, and what cannot be played."""
    from combwright.comb.reach import sounds
    from combwright.notes.keys import parse_key
    from combwright.playing.documents import tab_document, tab_lines
    from combwright.playing.tabbing import tab as tab_of

    instrument = sounding_layout(layout, parse_key(key), change or [])
    shifts, costs, ways = _shifts(shift), costs_of(player), sounds(instrument)
    found = [tab_of(tune, ways, costs, shifts) for tune in tunes_of(tunes)]
    if as_json:
        say_json(tab_document(found, costs))
        return
    for line in tab_lines(found, costs):
        typer.echo(line)


def _shifts(text: str) -> "Sequence[int]":
    from combwright.playing.tabbing import NEAREST, OCTAVES

    words = {"octave": OCTAVES, "best": NEAREST}
    if text in words:
        return words[text]
    try:
        by = int(text)
    except ValueError:
        by = 1000
    if not -60 <= by <= 60:
        raise BadShift(f"{text!r} is no shift; write semitones from -60 to 60, octave or best.")
    return (by,)
