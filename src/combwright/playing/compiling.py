"""Compiles the loops of this room with numba, once for a machine: what is compiled is kept on disk.

It is kept beside the code, as Python keeps its own; where nothing can be written there, in the
user's folder for such things; and where that cannot be written either, nowhere, so that every run
compiles anew. The folder is named after the sources, so that no change of one loop leaves another
with what it was compiled from before. Who sets NUMBA_CACHE_DIR has it in there.
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
    """Compile a function when it is first called, or take it from the disk, with all it calls.

    It lets go of the interpreter while it runs, so that threads run side by side.
    """
    settings, make = _numba()
    folder, given = kept_in(), settings.CACHE_DIR
    try:
        settings.CACHE_DIR = str(folder or "")
        return make(cache=folder is not None, nogil=True, no_cfunc_wrapper=True)(function)
    finally:
        settings.CACHE_DIR = given


def part(function: Callable[..., Any]) -> Any:
    """Compile a function that only compiled ones call, as a part of them."""
    _, make = _numba()
    return make(no_cpython_wrapper=True, no_cfunc_wrapper=True)(function)


def _numba() -> tuple[Any, Any]:
    return config, njit  # its types know neither the setting nor the options


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
    if given := os.environ.get("NUMBA_CACHE_DIR"):
        yield Path(given)
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
