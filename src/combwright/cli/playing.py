"""What `tab`, `match` and `swaps` share: the tunes, the player, and the options that name them."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from combwright.cli.inputs import noted, say_aside
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from combwright.playing.costs import PlayingCosts
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
Paper = Annotated[Literal["A4", "letter"], typer.Option("--paper", help="The size of the pages.")]
NO_TUNES = "No tune could be read; what is wrong is said above."


class NothingToPlay(CombwrightError):
    """Files of music in which no tune could be read."""


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

    if player.lower().endswith(".toml"):
        return noted(read_costs(Path(player)))
    return preset(player)
