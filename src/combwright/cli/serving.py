"""`combwright serve`: the shop in a browser."""

from pathlib import Path
from typing import Annotated

import typer

from combwright.errors import CombwrightError


class CannotServe(CombwrightError):
    """An address that the shop cannot be opened at, or parts of it that are not installed."""


def serve(
    host: Annotated[
        str,
        typer.Option("--host", help="The address to listen on; 127.0.0.1 is this machine only."),
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=1, max=65535, help="The port.")] = 8765,
    data: Annotated[
        Path | None,
        typer.Option("--data", help="The data folder; the user's own data folder without."),
    ] = None,
) -> None:
    """Open the shop in a browser: set its database up where needed, then serve until stopped."""
    import os

    if data is not None:
        os.environ["COMBWRIGHT_DATA"] = str(data)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")
    _check_free(host, port)
    try:
        from combwright.shop.serving import serve_shop
    except ModuleNotFoundError as error:
        raise CannotServe(
            f"The shop needs {error.name}, which is not installed; "
            "install Combwright with its extra: combwright[shop]."
        ) from error
    typer.echo(f"The shop is open at http://{_shown(host)}:{port}/ (Ctrl-C closes it).")
    serve_shop(host, port)


def _shown(host: str) -> str:
    if host in ("0.0.0.0", "::"):
        return "localhost"
    return f"[{host}]" if ":" in host else host


def _check_free(host: str, port: int) -> None:
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
