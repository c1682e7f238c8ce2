"""`combwright swaps`: the best reeds to swap for a repertoire."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.inputs import AsJson, CombFile, DecimalMark, say_json
from combwright.cli.playing import NothingToPlay, Player, TuneFiles, costs_of, tunes_of
from combwright.cli.shows import KeyName, sounding_layout

if TYPE_CHECKING:
    from combwright.comb.layouts import Layout
    from combwright.playing.swap_sets import SwapSpace


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
    from combwright.cli.swapping_documents import swaps_document, swaps_lines
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
