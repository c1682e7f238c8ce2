"""`combwright match`: layouts, keys and the customer's own instruments ranked for a repertoire."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.inputs import AsJson, say_json
from combwright.cli.playing import Paper, Player, TuneFiles, costs_of, tunes_of
from combwright.cli.shows import sounding_layout
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from combwright.playing.costs import PlayingCosts
    from combwright.playing.matching import Candidate, LayoutFit
    from combwright.tunes.tune import Tune

_PARTS = 3


class BadInstrument(CombwrightError):
    """An own instrument that is named with more than a layout, a key and changes."""


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
    keys: Annotated[
        list[str] | None,
        typer.Option(
            "--keys",
            metavar="KEY",
            help="Leave tunes in their keys, moved by octaves only, and rank the layouts in this "
            "key; may be given several times, 'all' is the twelve usual ones.",
        ),
    ] = None,
    own: Annotated[
        list[str] | None,
        typer.Option(
            "--own",
            metavar="INSTRUMENT",
            help="An instrument of the customer's to rank among them: layout, key and changes, "
            "'standard, A, 5 draw=D#5'. May be given several times.",
        ),
    ] = None,
    player: Player = "intermediate",
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE", help="Draw the ranking into this SVG file."),
    ] = None,
    pdf: Annotated[
        Path | None,
        typer.Option("--pdf", metavar="FILE", help="Print the ranking into this PDF file."),
    ] = None,
    paper: Paper = "A4",
    as_json: AsJson = False,
) -> None:
    """Rank instruments by how much of a repertoire they play, each tune at its best place."""
    from combwright.comb.catalogue import layout_ids
    from combwright.playing.documents import match_document, match_lines

    _check_files(picture, pdf)
    costs, names = costs_of(player), layouts or list(layout_ids())
    candidates = [*(_own(text) for text in own or []), *_named(names, keys or [])]
    found = tunes_of(tunes)
    ranked = _ranked(found, candidates, costs, as_written=bool(keys))
    _draw(ranked, len(found), picture, pdf, paper, as_written=bool(keys))
    if as_json:
        say_json(match_document(ranked, len(found), as_written=bool(keys)))
        return
    for line in match_lines(ranked, len(found), as_written=bool(keys)):
        typer.echo(line)


def _check_files(picture: Path | None, pdf: Path | None) -> None:
    """Refuse files that cannot be written before the work."""
    from combwright.sheets.pictures import check_pdf, check_picture

    if picture is not None:
        check_picture(picture)
    if pdf is not None:
        check_pdf(pdf)


def _draw(
    ranked: "Sequence[LayoutFit]",
    tunes: int,
    picture: Path | None,
    pdf: Path | None,
    paper: Paper,
    *,
    as_written: bool,
) -> None:
    from combwright.sheets.pictures import write_pdf, write_picture

    if picture is not None:
        from combwright.sheets.ranking import ranking_svg

        write_picture(picture, ranking_svg(ranked, tunes, as_written=as_written))
    if pdf is not None:
        from combwright.sheets.ranking_pages import ranking_pdf

        write_pdf(pdf, ranking_pdf(ranked, tunes, as_written=as_written, paper=paper))


def _named(names: list[str], keys: list[str]) -> "list[Candidate]":
    """Return the layouts, in every key that is asked."""
    from combwright.notes.keys import ORDINARY_KEYS, parse_key
    from combwright.playing.matching import Candidate

    each = [part.strip() for text in keys for part in text.split(",")]
    wanted = [key for part in each for key in (ORDINARY_KEYS if part == "all" else (part,))]
    roots = [(parse_key(key), parse_key(key).name) for key in dict.fromkeys(wanted)]
    return [
        Candidate(name, sounding_layout(name, root, []), key)
        for name in names
        for root, key in roots or [(parse_key("C"), "")]
    ]


def _own(text: str) -> "Candidate":
    from combwright.notes.keys import parse_key
    from combwright.playing.matching import Candidate

    parts = [part.strip() for part in text.split(",")]
    if len(parts) > _PARTS or not parts[0]:
        raise BadInstrument(
            f"{text!r} is no instrument; write its layout, its key and its changes with commas "
            "between, as in 'standard, A, 5 draw=D#5; 3 blow=F#4'."
        )
    name, key, changes = (*parts, "", "")[:_PARTS]
    root = parse_key(key or "C")
    layout = sounding_layout(name, root, [changes] if changes else [])
    return Candidate(f"{name}, {changes}" if changes else name, layout, root.name, own=True)


def _ranked(
    tunes: "Sequence[Tune]",
    candidates: "Sequence[Candidate]",
    costs: "PlayingCosts",
    *,
    as_written: bool,
) -> "tuple[LayoutFit, ...]":
    from combwright.cli.progress import progress_bar
    from combwright.playing.matching import rank

    with progress_bar() as told:

        def progress(done: int, of: int) -> None:
            if told is not None:
                told(f"{done:,} of {of:,} instruments ranked", done / of)

        return rank(tunes, candidates, costs, as_written=as_written, progress=progress)
