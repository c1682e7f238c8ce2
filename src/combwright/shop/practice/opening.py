"""Opening the practice shop: copied where need be, then served by this very process.

`python -m combwright.shop.practice.opening HOST PORT [--fresh]` is what the real shop starts.
"""

import os
import socket
import sys
from collections.abc import Callable
from typing import Final, NoReturn

import django

from combwright.errors import CombwrightError

#: Set for a practice shop that ends when its standard input does.
CHILD: Final = "COMBWRIGHT_PRACTICE_CHILD"
_WHY_LETTERS: Final = 500
_SERVE: Final = "from combwright.cli.main import run; run()"


def open_practice(
    host: str,
    port: int,
    *,
    fresh: bool = False,
    any_port: bool = False,
    told: Callable[[str], object] = lambda _text: None,
) -> NoReturn:
    """Make the copy where there is none, and become the process that serves it.

    Parameters
    ----------
    host, port : str, int
        Where to listen.
    fresh : bool
        Whether to make the copy anew.
    any_port : bool
        Whether another port will do where that one is taken.
    told : callable
        Told what is going on.

    Raises
    ------
    PracticeRefused
        If it is open already, or this is a practice shop itself.
    CombwrightError
        If the copy cannot be made.
    """
    from django.conf import settings

    from combwright.shop.practice import places

    if settings.PRACTICE:
        raise places.PracticeRefused("This is the practice shop; it has no practice shop itself.")
    if places.held() is None:
        raise places.PracticeRefused(
            f"The practice shop is open already (port {places.state().port or 'not known yet'}); "
            "close it where it was opened, then try again."
        )
    try:
        places.say(places.State(places.MAKING))
        if fresh or places.made_at() is None:
            told("The copy is being made ...")
            _make()
        port = _port(host, port, any_port=any_port)
        places.say(places.State(places.OPEN, host, port))
    except Exception as error:
        why = str(error) if isinstance(error, CombwrightError) else type(error).__name__
        places.say(places.State(places.FAILED, why=why[:_WHY_LETTERS]))
        raise
    _serve(host, port)


def _make() -> None:
    from django.db import Error

    from combwright.shop.practice.copying import make_copy
    from combwright.shop.practice.places import PracticeRefused

    try:
        make_copy()
    except (OSError, Error) as error:
        raise PracticeRefused(
            f"The copy cannot be made ({error}); make room, try again."
        ) from error


def _port(host: str, port: int, *, any_port: bool) -> int:
    from combwright.shop.practice.places import PracticeRefused

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    for one in (port, 0) if any_port else (port,):
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, one))
            except OSError:
                continue
            return int(probe.getsockname()[1])
    raise PracticeRefused(
        f"The practice shop cannot be opened at {host}, port {port}; give another --port or --host."
    )


def _serve(host: str, port: int) -> NoReturn:
    from combwright.shop.practice.places import folder

    environment = {**os.environ, "COMBWRIGHT_DATA": str(folder()), "COMBWRIGHT_PRACTICE": "1"}
    environment.pop("COMBWRIGHT_DATABASE", None)
    if not environment.get("COMBWRIGHT_PRACTICE_ADDRESS"):
        # The real shop's HTTPS ends at a server before it that knows nothing of this port.
        environment.pop("COMBWRIGHT_HTTPS", None)
    sys.stdout.flush()
    command = [sys.executable, "-c", _SERVE, "serve", "--host", host, "--port", str(port)]
    if environment.get("COMBWRIGHT_AUTHORITY"):  # devices that trust the one shop trust the other
        command.append("--https")
    os.execve(sys.executable, command, environment)


def main(arguments: list[str]) -> None:
    """Open it as the real shop's child."""
    host, port, *more = arguments
    django.setup()
    try:
        open_practice(host, int(port), fresh="--fresh" in more, any_port=True)
    except CombwrightError as error:
        sys.exit(str(error))


if __name__ == "__main__":
    main(sys.argv[1:])
