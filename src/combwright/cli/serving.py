"""`combwright serve`: the shop in a browser."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Final

import typer

from combwright.errors import CombwrightError

_HOST: Final = "127.0.0.1"
_PORT: Final = 8765
_OWN_MACHINE: Final = ("127.0.0.1", "localhost", "::1")


class CannotServe(CombwrightError):
    """An address that the shop cannot be opened at, or parts of it that are not installed."""


def serve(
    host: Annotated[
        str,
        typer.Option("--host", help="The address to listen on; 127.0.0.1 is this machine only."),
    ] = _HOST,
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="The port.")] = _PORT,
    data: Annotated[
        Path | None,
        typer.Option("--data", help="The data folder; the user's own data folder without."),
    ] = None,
    https: Annotated[
        bool,
        typer.Option(
            "--https",
            help="Speak HTTPS, which browsers want before they lend microphone or camera; "
            "devices are told to trust the workshop's own certificates.",
        ),
    ] = False,
    name: Annotated[
        list[str] | None,
        typer.Option(
            "--name",
            metavar="HOST",
            help="A further name or address that the shop is reached by, for --https; repeatable.",
        ),
    ] = None,
) -> None:
    """Open the shop in a browser: set its database up where needed, then serve until stopped."""
    if name and not https:
        raise CannotServe("--name is for the certificates of --https; give that too, or neither.")
    use_data_folder(data)
    check_free(host, port)
    with shop_installed():
        from combwright.cli.https import made_ready
        from combwright.shop.serving import serve_shop

        papers = made_ready(host, port, name or ()) if https else None
    if papers is None:
        typer.echo(f"The shop is open at {address(host, port)}/ (Ctrl-C closes it).")
    _say_who_reaches_it(host, https=https)
    serve_shop(host, port, papers)


def _say_who_reaches_it(host: str, *, https: bool) -> None:
    if host not in _OWN_MACHINE:
        typer.echo(
            "Others can reach it: while it is new, whoever opens it first becomes its owner.",
            err=True,
        )
    elif https:
        typer.echo(
            "Only this machine can reach it; --host 0.0.0.0 lets the workshop's network in.",
            err=True,
        )


def open_demo_shop(folder: Path, *, serve_it: bool) -> None:
    """Set the demo shop up in a folder, let oneself in and look; then serve it, or stop."""
    use_data_folder(folder)
    if serve_it:
        check_free(_HOST, _PORT)
    with shop_installed():
        from combwright.shop import showing
        from combwright.shop.serving import serve_shop
    from combwright.demo.stock_left import rack_bins

    link = showing.set_up(rack_bins())
    showing.check(link)
    if not serve_it:
        typer.echo("\nThe demo shop was set up, looked at and found in order.")
        return
    link = showing.set_up(())
    typer.echo(f"\nThe demo shop is open. This link lets you in once:\n  {address()}{link}")
    typer.echo("Ctrl-C closes the shop.")
    serve_shop(_HOST, _PORT)


def use_data_folder(folder: Path | None) -> None:
    """Have the shop keep its data in a folder; in the user's own data folder for None."""
    import os

    if folder is not None:
        os.environ["COMBWRIGHT_DATA"] = str(folder)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")


@contextmanager
def shop_installed() -> Iterator[None]:
    """Say in one line what is missing where the shop's libraries are not installed."""
    try:
        yield
    except ModuleNotFoundError as error:
        raise CannotServe(
            f"The shop needs {error.name}, which is not installed; "
            "install Combwright with its extra: combwright[shop]."
        ) from error


def address(host: str = _HOST, port: int = _PORT) -> str:
    """Return the address that the shop is opened at."""
    return f"http://{_shown(host)}:{port}"


def _shown(host: str) -> str:
    if host in ("0.0.0.0", "::"):
        return "localhost"
    return f"[{host}]" if ":" in host else host


def check_free(host: str, port: int) -> None:
    """Make sure that the address can be listened on.

    Raises
    ------
    CannotServe
        If it cannot.
    """
    import socket

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise CannotServe(
                f"The shop cannot be opened at {host}, port {port} ({error.strerror}); "
                "give another --port or --host."
            ) from error
