"""`combwright let-in`: a link for somebody who lost the password, when nobody else can make one."""

from pathlib import Path
from typing import Annotated

import typer

from combwright.cli.serving import address, shop_installed, use_data_folder


def let_in(
    name: Annotated[str, typer.Argument(metavar="NAME", help="The name they log in with.")],
    at: Annotated[
        str, typer.Option("--at", help="The address that the shop is reached by.")
    ] = address(),
    data: Annotated[
        Path | None,
        typer.Option("--data", help="The data folder; the user's own data folder without."),
    ] = None,
) -> None:
    """Print a link that lets somebody choose a new password; it works once, for an hour."""
    use_data_folder(data)
    with shop_installed():
        from combwright.shop.letting_in import link_for
    typer.echo(at.rstrip("/") + link_for(name))
