"""`combwright tab`: how to play tunes on one instrument."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.inputs import AsJson, say_json
from combwright.cli.playing import LayoutName, Paper, Player, TuneFiles, costs_of, tunes_of
from combwright.cli.shows import Changes, KeyName, sounding_layout
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from combwright.playing.costs import PlayingCosts
    from combwright.playing.tabbing import Tab


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
    pdf: Annotated[
        Path | None,
        typer.Option(
            "--pdf", metavar="FILE", help="Engrave the tunes with their tab into this PDF file."
        ),
    ] = None,
    paper: Paper = "A4",
    as_json: AsJson = False,
) -> None:
    """Show how to play tunes on an instrument: hole, breath, bends, and what cannot be played."""
    from combwright.comb.reach import sounds
    from combwright.notes.keys import parse_key
    from combwright.playing.documents import tab_document, tab_lines
    from combwright.playing.tabbing import tab as tab_of

    if pdf is not None:
        from combwright.sheets.pictures import check_pdf

        check_pdf(pdf)
    root = parse_key(key)
    instrument = sounding_layout(layout, root, change or [])
    shifts, costs, ways = _shifts(shift), costs_of(player), sounds(instrument)
    found = [tab_of(tune, ways, costs, shifts) for tune in tunes_of(tunes)]
    if pdf is not None:
        named = f"{instrument.title}, key of {root.name}"
        changed = f", changed: {'; '.join(change)}" if change else ""
        _engrave(found, costs, f"{named}{changed}", pdf, paper)
    if as_json:
        say_json(tab_document(found, costs))
        return
    for line in tab_lines(found, costs):
        typer.echo(line)


def _engrave(
    found: "Sequence[Tab]", costs: "PlayingCosts", instrument: str, pdf: Path, paper: Paper
) -> None:
    from combwright.cli.progress import progress_bar
    from combwright.sheets.pictures import write_pdf
    from combwright.sheets.tabs import TabSheet, tab_pages

    with progress_bar() as told:

        def progress(done: int, of: int) -> None:
            if told is not None:
                told(f"engraving {done:,} of {of:,} tunes", done / of)

        write_pdf(pdf, tab_pages(found, costs, TabSheet(instrument, paper), progress=progress))


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
