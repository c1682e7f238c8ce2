"""`combwright tab`, `match` and `swaps`: from the music a player plays to holes, layouts, reeds."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.inputs import AsJson, CombFile, DecimalMark, say_aside, say_json
from combwright.cli.shows import Changes, KeyName, sounding_layout
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from combwright.comb.layouts import Layout
    from combwright.playing.costs import PlayingCosts
    from combwright.playing.swap_sets import SwapSpace
    from combwright.tunes.tune import Tune

TuneFiles = Annotated[
    list[Path],
    typer.Argument(
        metavar="TUNES...",
        help="Files of ABC, MusicXML, MXL or MIDI, folders of them, or zipped folders.",
    ),
]
LayoutName = Annotated[
    str,
    typer.Option("--layout", metavar="LAYOUT", help="A layout of the catalogue or a TOML file."),
]
Player = Annotated[
    str,
    typer.Option(
        "--player",
        metavar="PLAYER",
        help="Who plays: beginner, intermediate, expert, or a TOML file of playing costs.",
    ),
]
NO_TUNES = "No tune could be read; what is wrong is said above."


class NothingToPlay(CombwrightError):
    """Files of music in which no tune could be read."""


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
    from combwright.cli.playing_documents import tab_document, tab_lines
    from combwright.comb.reach import sounds
    from combwright.notes.keys import parse_key
    from combwright.playing.tabbing import tab as tab_of

    instrument = sounding_layout(layout, parse_key(key), change or [])
    shifts, costs, ways = _shifts(shift), costs_of(player), sounds(instrument)
    found = [tab_of(tune, ways, costs, shifts) for tune in tunes_of(tunes)]
    if as_json:
        say_json(tab_document(found, costs))
        return
    for line in tab_lines(found, costs):
        typer.echo(line)


def match(
    tunes: TuneFiles,
    layouts: Annotated[
        list[str] | None,
        typer.Option(
            "--layouts",
            metavar="LAYOUT",
            help="A layout to rank, may be given several times; the whole catalogue without.",
        ),
    ] = None,
    player: Player = "intermediate",
    as_json: AsJson = False,
) -> None:
    """Rank layouts by how much of a repertoire they play, each tune at its best place."""
    from combwright.cli.playing_documents import match_document, match_lines
    from combwright.comb.catalogue import layout_ids
    from combwright.notes.keys import parse_key
    from combwright.playing.matching import match as match_of

    names = layouts or list(layout_ids())
    named = [(name, sounding_layout(name, parse_key("C"), [])) for name in names]
    found = tunes_of(tunes)
    ranked = match_of(found, named, costs_of(player))
    if as_json:
        say_json(match_document(ranked, len(found)))
        return
    for line in match_lines(ranked, len(found)):
        typer.echo(line)


def swaps(
    tunes: TuneFiles,
    base: Annotated[
        str,
        typer.Option("--base", metavar="LAYOUT", help="The layout whose reeds are swapped."),
    ] = "standard",
    key: KeyName = "C",
    most: Annotated[
        int, typer.Option("--most", min=1, max=4, help="The most reeds that are swapped.")
    ] = 2,
    by: Annotated[
        int, typer.Option("--by", min=1, max=4, help="The most semitones a reed is moved.")
    ] = 2,
    rack: Annotated[
        Path | None,
        typer.Option("--rack", metavar="RACK", help="Only swaps that this rack can supply today."),
    ] = None,
    comb: CombFile = None,
    decimal: DecimalMark = None,
    threads: Annotated[
        int, typer.Option("--threads", min=0, help="Threads to work on; 0 is one for each core.")
    ] = 0,
    player: Player = "intermediate",
    as_json: AsJson = False,
) -> None:
    """Find the best reeds to swap for a repertoire, with the proof that none are better."""
    from combwright.cli.playing_documents import swaps_document, swaps_lines
    from combwright.notes.keys import parse_key
    from combwright.playing.lines import line_of
    from combwright.playing.repertoire import repertoire_of
    from combwright.playing.swap_sets import SwapSpace, all_swaps
    from combwright.playing.swapping import search

    layout = sounding_layout(base, parse_key(key), [])
    costs, found = costs_of(player), tunes_of(tunes)
    space = SwapSpace(layout, all_swaps(layout, by))
    if rack is not None:
        space = _from_rack(space, rack, comb, decimal)
    lines = [line_of(tune, costs) for tune in found]
    rounds = search(space, repertoire_of(lines), costs, most=most, threads=threads or None)
    if as_json:
        say_json(swaps_document(rounds, layout, found, costs))
        return
    for line in swaps_lines(rounds, layout, found, costs):
        typer.echo(line)


def tunes_of(paths: list[Path]) -> "tuple[Tune, ...]":
    """Return the tunes of files; what could not be read, and what was odd, is said aside."""
    from combwright.tunes.opening import read_tunes

    reading = read_tunes(paths)
    say_aside(reading.faults)
    say_aside(f"{tune.source}: {text}." for tune in reading.tunes for text in tune.remarks)
    if not reading.tunes:
        raise NothingToPlay(NO_TUNES)
    return reading.tunes


def costs_of(player: str) -> "PlayingCosts":
    """Return the costs of a preset or of a file."""
    from combwright.playing.costs import preset, read_costs

    return read_costs(Path(player)) if player.endswith(".toml") else preset(player)


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


def _from_rack(
    space: "SwapSpace", rack: Path, comb: Path | None, decimal: DecimalMark
) -> "SwapSpace":
    from combwright.cli.inputs import comb_from, stock_from
    from combwright.playing.stock import from_rack

    found = comb_from(comb)
    _check_holes(space.layout, found.holes)
    return from_rack(space, stock_from(rack, None, found, decimal=decimal).bins, found)


def _check_holes(layout: "Layout", holes: int) -> None:
    if layout.holes > holes:
        raise NothingToPlay(
            f"{layout.title!r} has {layout.holes} holes and the comb {holes}; name one with --comb."
        )
