"""`combwright check` and `combwright example`: the maker's files, checked and shown."""

from pathlib import Path
from typing import Annotated

import typer

from combwright.cli.inputs import CombFile, DecimalMark, comb_from, say_aside
from combwright.errors import CombwrightError


def check(
    paths: Annotated[list[Path], typer.Argument(metavar="FILE", help="The files to check.")],
    comb: CombFile = None,
    decimal: DecimalMark = None,
) -> None:
    """Check racks, orders, parts, combs, layouts, temperaments, workshops, playing costs, plans."""
    from combwright.files.check import check_file
    from combwright.playing.costs import COSTS_FILE

    usual = None if comb is None else comb_from(comb)
    wrong: list[str] = []
    for path in paths:
        try:
            found = check_file(path, comb=usual, decimal=decimal, others=[COSTS_FILE])
        except CombwrightError as error:
            wrong.append(str(error))
            continue
        say_aside(found.warnings)
        typer.echo(found.value)
    if wrong:
        raise CombwrightError("\n".join(wrong))


def example(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help="Where to write them; made if missing.")
    ],
) -> None:
    """Write a small commented set of every file there is, to look at and to start from."""
    from combwright.demo.example import write_example

    for path in write_example(folder):
        typer.echo(str(path))
