"""`combwright match`: layouts ranked for a repertoire."""

from typing import Annotated

import typer

from combwright.cli.inputs import AsJson, say_json
from combwright.cli.playing import Player, TuneFiles, costs_of, tunes_of
from combwright.cli.shows import sounding_layout


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
    from combwright.comb.catalogue import layout_ids
    from combwright.notes.keys import parse_key
    from combwright.playing.documents import match_document, match_lines
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
