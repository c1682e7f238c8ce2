"""Compiles the loops of this room with numba, once for a machine: what is compiled is kept on disk.

It is kept beside the code, as Python keeps its own; where nothing can be written there, in the
user's folder for such things; and where that cannot be written either, nowhere, so that every run
compiles anew. The folder is named after the sources, so that no change of one loop leaves another
with what it was compiled from before. Who sets NUMBA_CACHE_DIR has it there.
"""

import hashlib
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, Final

from numba import config, njit

_SOURCES: Final = ("compiling", "desk", "families", "kernel", "lanes", "repertoire")


def compiled(function: Callable[..., Any]) -> Any:
    """Compile a function when it is first called, or take it from the disk.

    It lets go of the interpreter while it runs, so that threads run side by side.
    """
    settings: Any = config
    given, folder = settings.CACHE_DIR, kept_in()
    try:
        settings.CACHE_DIR = given or str(folder or "")
        return njit(cache=bool(given or folder), nogil=True)(function)
    finally:
        settings.CACHE_DIR = given


@cache
def kept_in() -> Path | None:
    """Return the folder where what is compiled is kept, None where there is none to be written."""
    here = Path(__file__).parent
    digest = hashlib.sha256()
    for name in _SOURCES:
        digest.update((here / f"{name}.py").read_bytes())
    name = f"combwright-{digest.hexdigest()[:12]}"
    return next((each / name for each in _places(here) if _writable(each / name)), None)


def _places(here: Path) -> Iterator[Path]:
    yield here / "__pycache__"
    if sys.platform == "win32":
        if local := os.environ.get("LOCALAPPDATA"):
            yield Path(local)
    elif sys.platform == "darwin":
        yield Path("~/Library/Caches").expanduser()
    else:
        yield Path(os.environ.get("XDG_CACHE_HOME") or "~/.cache").expanduser()


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False
