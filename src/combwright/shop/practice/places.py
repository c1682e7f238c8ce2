"""Where the practice shop lies, and whether somebody has it open.

Whoever makes it or serves it holds a lock on a file beside it, which the system takes away when the
process ends, however it ends. What the holder says of itself stands in a second file.
"""

import json
import os
import socket
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

from django.conf import settings

from combwright.errors import CombwrightError

MAKING, OPEN, CLOSED, FAILED = "making", "open", "closed", "failed"
_MADE: Final = "made.txt"
_PATIENCE_SECONDS: Final = 1.0


class PracticeRefused(CombwrightError):
    """A practice shop that cannot be opened or made now."""


@dataclass(frozen=True, slots=True)
class State:
    """How the practice shop stands.

    Parameters
    ----------
    phase : str
        One of "making", "open", "closed" and "failed".
    host, port : str, int
        Where it is open.
    why : str
        Why it could not be opened.
    """

    phase: str = CLOSED
    host: str = ""
    port: int = 0
    why: str = ""


def folder() -> Path:
    """Return the practice shop's own data folder."""
    return Path(settings.DATA_FOLDER) / "practice"


def made_at() -> datetime | None:
    """Return when the copy was made; None if there is none."""
    try:
        return datetime.fromisoformat((folder() / _MADE).read_text().strip())
    except (OSError, ValueError):
        return None


def write_made_at(where: Path, moment: datetime) -> None:
    """Write down when a copy was made."""
    (where / _MADE).write_text(f"{moment.isoformat()}\n")


def held() -> int | None:
    """Hold the practice shop for this process; return the lock's handle, or None if another does.

    The handle stays with a program that takes this process over.
    """
    import fcntl

    handle = os.open(_lock(), os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        return None
    os.set_inheritable(handle, True)
    return handle


def say(state: State) -> None:
    """Write down how the practice shop stands; the one who holds it does."""
    hidden = _said().with_name(f".{_said().name}")
    hidden.write_text(json.dumps(asdict(state)))
    hidden.replace(_said())


def state() -> State:
    """Return how the practice shop stands."""
    said = State()
    with suppress(OSError, ValueError, TypeError):
        said = State(**json.loads(_said().read_text()))
    if said.phase == FAILED:
        return said
    if not _is_held():
        return State()
    return said if said.phase != OPEN or _answers(said) else replace(said, phase=MAKING)


def _answers(said: State) -> bool:
    host = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(said.host, said.host)
    with suppress(OSError), socket.create_connection((host, said.port), _PATIENCE_SECONDS):
        return True
    return False


def _is_held() -> bool:
    import fcntl

    try:
        handle = os.open(_lock(), os.O_RDWR)
    except OSError:
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except OSError:
        return True
    finally:
        os.close(handle)
    return False


def _lock() -> Path:
    return Path(settings.DATA_FOLDER) / "practice.lock"


def _said() -> Path:
    return Path(settings.DATA_FOLDER) / "practice.json"
