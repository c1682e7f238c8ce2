"""`combwright swaps`: the best reeds to swap for a repertoire."""

from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.inputs import (
    AsJson,
    CombFile,
    DecimalMark,
    WorkshopFile,
    comb_from,
    say_aside,
    say_json,
    stock_from,
    workshop_from,
)
from combwright.cli.playing import Player, TuneFiles, costs_of, tunes_of
from combwright.cli.shows import KeyName, sounding_layout
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from combwright.comb.combs import Comb
    from combwright.comb.layouts import Layout
    from combwright.files.decimals import Mark
    from combwright.playing.stock import Kit
    from combwright.playing.supply import Supply
    from combwright.playing.swap_answer import SwapAnswer
    from combwright.playing.swap_sets import SwapSpace


class NothingToSwapIn(CombwrightError):
    """Options that speak of plates which no option names, or plates that no hole is there for."""


@dataclass(frozen=True, slots=True)
class Given:
    """Files and settings that say how plates are used."""

    comb: Path | None
    workshop: Path | None
    decimal: "Mark | None"


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
    kit: Annotated[
        list[str] | None,
        typer.Option(
            "--kit",
            metavar="SEATS",
            help="Only swaps that the owner's plates can make: '5 draw=F#5; 3 blow=A4', or '' to "
            "move plates about. With --rack, either will do.",
        ),
    ] = None,
    comb: CombFile = None,
    workshop: WorkshopFile = None,
    decimal: DecimalMark = None,
    threads: Annotated[
        int, typer.Option("--threads", min=0, help="Threads to work on; 0 is one for each core.")
    ] = 0,
    cluster: Annotated[
        str | None,
        typer.Option(
            "--cluster",
            metavar="ADDRESS",
            help="Work on the Dask cluster whose scheduler is there, as in tcp://10.0.0.5:8786.",
        ),
    ] = None,
    player: Player = "intermediate",
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture", metavar="FILE", help="Draw the best set and what it saves into this SVG."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Find the best reeds to swap for a repertoire, with the proof that none are better."""
    from combwright.cli.swapping_words import swaps_lines
    from combwright.notes.keys import parse_key
    from combwright.playing.cluster import on_cluster
    from combwright.playing.lines import line_of
    from combwright.playing.repertoire import repertoire_of
    from combwright.playing.swap_answer import tell
    from combwright.playing.swap_documents import swaps_document
    from combwright.playing.swap_sets import swap_space
    from combwright.playing.swapping import search

    drawn_on = None if picture is None else _checked(picture, comb)
    root = parse_key(key)
    space = swap_space(sounding_layout(base, root, []), by)
    space = _limited(space, rack, kit, Given(comb, workshop, decimal))
    costs, found = costs_of(player), tunes_of(tunes)
    lines = [line_of(tune, costs) for tune in found]
    arrays = repertoire_of(lines)
    with on_cluster(cluster) as work:
        _say_compiled()
        rounds = search(space, arrays, costs, most=most, threads=threads or None, work=work)
    answer = tell(rounds, space, found, lines, arrays, costs, key=root.pitch_class)
    if picture is not None and drawn_on is not None:
        _draw(answer, drawn_on, picture)
    if as_json:
        say_json(swaps_document(answer))
        return
    for line in swaps_lines(answer, workshop_from(workshop).currency):
        typer.echo(line)


def _say_compiled() -> None:
    """Make the search ready, and say so where that meant compiling it."""
    from combwright.playing.compiling import kept_in
    from combwright.playing.ready import made_ready

    took = made_ready()
    if took is not None:
        where = kept_in()
        kept = f"kept in {where}" if where else "not kept, since no folder for it can be written"
        say_aside([f"The search was compiled for this machine in {took:.0f} s; it is {kept}."])


def _checked(picture: Path, comb: Path | None) -> "Comb":
    """Refuse a file that cannot be written, and return the comb to draw."""
    from combwright.sheets.pictures import check_picture

    check_picture(picture)
    return comb_from(comb)


def _draw(answer: "SwapAnswer", comb: "Comb", picture: Path) -> None:
    from combwright.sheets.pictures import write_picture
    from combwright.sheets.swaps import swaps_svg

    _check_holes(answer.layout, comb.holes)
    write_picture(picture, swaps_svg(answer, comb))


def _limited(
    space: "SwapSpace", rack: Path | None, kit: list[str] | None, given: Given
) -> "SwapSpace":
    """Keep the swaps that a rack, an owner's kit, or either can supply."""
    from combwright.playing.stock import kit_supply, limited, with_kit
    from combwright.playing.supply import joined

    _check_given(rack, kit, given)
    if rack is None and kit is None:
        return space
    comb = comb_from(given.comb)
    _check_holes(space.layout, comb.holes)
    supplies = []
    if kit is not None:
        plates = _kit(space, kit, comb)
        space = with_kit(space, plates)
        supplies.append(kit_supply(space, plates, comb))
    if rack is not None:
        supplies.append(_of_rack(space, rack, comb, given))
    return limited(space, reduce(joined, supplies))


def _kit(space: "SwapSpace", kit: list[str], comb: "Comb") -> "Kit":
    from combwright.comb.changes import kit_seats, parse_kit

    plates = kit_seats(space.layout, parse_kit("; ".join(kit)))
    for _, seat in plates:
        comb.takes_mm(seat.hole)
    return plates


def _of_rack(space: "SwapSpace", rack: Path, comb: "Comb", given: Given) -> "Supply":
    from combwright.playing.stock import rack_supply

    bins = stock_from(rack, None, comb, decimal=given.decimal).bins
    return rack_supply(space, bins, comb, workshop_from(given.workshop))


def _check_given(rack: Path | None, kit: list[str] | None, given: Given) -> None:
    if rack is None and (given.workshop or given.decimal):
        name = "--workshop" if given.workshop else "--decimal"
        raise NothingToSwapIn(f"{name} says how a rack is used; name the rack with --rack.")
    if rack is None and kit is None and given.comb:
        raise NothingToSwapIn("--comb says where plates fit; name them with --rack or --kit.")


def _check_holes(layout: "Layout", holes: int) -> None:
    beyond = [seat.hole for seat in layout.seats if seat.hole > holes]
    if beyond:
        raise NothingToSwapIn(
            f"{layout.title!r} has a reed in hole {beyond[0]} and the comb {holes} holes; name "
            "a comb with --comb."
        )
