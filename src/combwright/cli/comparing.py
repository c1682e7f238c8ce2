"""`combwright compare`: two instruments, or one before and after, note by note."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.hearing import A4
from combwright.cli.inputs import AsJson, noted, number, say_aside, say_json
from combwright.cli.shows import Changes, KeyName
from combwright.cli.takes import LayoutName, Order, TemperamentName, targets_from

if TYPE_CHECKING:
    from combwright.comb.seats import Seat
    from combwright.ear.compared import Comparison
    from combwright.ear.measures import Measured
    from combwright.ear.takes import Target


def compare(
    a: Annotated[
        Path, typer.Argument(metavar="A", help="A take, or a folder of takes of one instrument.")
    ],
    b: Annotated[
        Path, typer.Argument(metavar="B", help="The same of the other, or of the same one later.")
    ],
    layout: LayoutName = "standard",
    key: KeyName = "C",
    change: Changes = None,
    temperament: TemperamentName = "equal",
    a4: A4 = "440",
    order: Order = "",
    level_margin: Annotated[
        str,
        typer.Option("--level-margin", metavar="DB", help="Levels this near count as the same."),
    ] = "1.5",
    cents_margin: Annotated[
        str,
        typer.Option(
            "--cents-margin", metavar="CENTS", help="Pitches this near count as the same."
        ),
    ] = "3",
    match_levels: Annotated[
        bool,
        typer.Option(
            "--match-levels",
            help="Take the usual difference of level out: another gain or distance is none.",
        ),
    ] = False,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE", help="Draw the comparison into this SVG file."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Compare two recordings of whole instruments: which notes are the same within margins."""
    from combwright.ear.compared import Margins
    from combwright.ear.comparing import compare as compared

    margins = Margins(number(level_margin), number(cents_margin))
    if picture is not None:
        from combwright.sheets.pictures import check_picture

        check_picture(picture)
    targets = targets_from(layout, key, change, temperament, a4, order)
    files, rate = _files(a, b)
    measured = [_measured(side, targets, rate) for side in files]
    seats = sorted((t.seat for t in targets), key=lambda s: (s.hole, s.breath != "blow", s.deck))
    found = compared(measured[0], measured[1], seats, margins=margins, match_levels=match_levels)
    if picture is not None:
        _draw(found, picture, (a.resolve().name, b.resolve().name))
    _say(found, files, rate, as_json=as_json)


def _files(a: Path, b: Path) -> tuple[list[tuple[Path, ...]], int]:
    """Return the recordings of both, and the lowest of their rates."""
    from combwright.files.sound_folders import rate_of, takes_in

    files = [noted(takes_in(path)) for path in (a, b)]
    rates = {rate_of(path) for side in files for path in side}
    if len(rates) > 1:
        say_aside([f"all is compared at {min(rates):,} samples a second, the least of the files."])
    return files, min(rates)


def _measured(
    files: tuple[Path, ...], targets: "tuple[Target[Seat], ...]", rate: int
) -> "Measured[Seat]":
    from combwright.ear.measures import measure_take, together
    from combwright.ear.rates import at_rate
    from combwright.files.sounds import read_sound

    return together(
        [measure_take(at_rate(noted(read_sound(path)), rate), targets) for path in files]
    )


def _draw(found: "Comparison[Seat]", path: Path, names: tuple[str, str]) -> None:
    from combwright.sheets.compared import comparison_svg
    from combwright.sheets.pictures import write_picture

    write_picture(path, comparison_svg(found, names))


def _say(
    found: "Comparison[Seat]", files: list[tuple[Path, ...]], rate: int, *, as_json: bool
) -> None:
    from combwright.cli.comparing_words import comparing_lines, remarks

    if as_json:
        from combwright.cli.comparing_document import comparing_document

        names = ([path.name for path in files[0]], [path.name for path in files[1]])
        say_json(comparing_document(found, names, rate, remarks(found)))
        return
    for line in comparing_lines(found):
        typer.echo(line)
