"""The practice shop as the real shop's child: one process, which ends when the real shop does."""

import os
import subprocess
import sys
from contextlib import suppress
from threading import Lock
from typing import Final

from django.utils.translation import gettext as _

from combwright.shop.practice import places
from combwright.shop.practice.opening import CHILD

_PATIENCE_SECONDS: Final = 10.0
_PORT: Final = 8766
_LOCK: Final = Lock()
_children: Final[list["subprocess.Popen[bytes]"]] = []


def start(*, fresh: bool = False) -> None:
    """Open the practice shop, unless it is open; it takes a while, and `state` tells how far.

    Parameters
    ----------
    fresh : bool
        Whether to make the copy anew, and close it first where it is open.

    Raises
    ------
    PracticeRefused
        If somebody opened it at a command line, and it is to be made anew.
    """
    with _LOCK:
        _forget_the_gone()
        if fresh:
            _close()
        if _children or places.state().phase in (places.MAKING, places.OPEN):
            if fresh:
                raise places.PracticeRefused(
                    _("The practice shop was opened at a command line; close it there first.")
                )
            return
        places.say(places.State(places.MAKING))
        host = os.environ.get("COMBWRIGHT_SERVED_ON", "127.0.0.1")
        port = os.environ.get("COMBWRIGHT_PRACTICE_PORT", str(_PORT))
        command = [sys.executable, "-m", "combwright.shop.practice.opening", host, port]
        # Its standard input ends when this process does, even if that is killed.
        child = subprocess.Popen(
            [*command, *(["--fresh"] if fresh else [])],
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            env={**os.environ, CHILD: "1"},
        )
        _children.append(child)


def state() -> places.State:
    """Return how the practice shop stands; one that was just started has not said so yet."""
    with _LOCK:
        _forget_the_gone()
        now = places.state()
        return places.State(places.MAKING) if _children and now.phase == places.CLOSED else now


def close() -> None:
    """Close the practice shop if this process opened it."""
    with _LOCK:
        _close()


def _close() -> None:
    for child in _children:
        if child.stdin is not None:
            child.stdin.close()
        try:
            child.wait(_PATIENCE_SECONDS)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
    _children.clear()


def _forget_the_gone() -> None:
    for child in [each for each in _children if each.poll() is not None]:
        if child.stdin is not None:
            with suppress(OSError):
                child.stdin.close()
        _children.remove(child)
