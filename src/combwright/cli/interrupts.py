"""Ctrl-C that works at once, also while a solver computes or a long page is set.

Python hands an interrupt to its main thread, which may be minutes deep in foreign code. A watcher
hears of it at once, gives the main thread a moment to tidy up, and then ends the process; what the
main thread could not tidy, it sweeps up.
"""

import atexit
import os
import shutil
import signal
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

INTERRUPTED: Final = 130
_GRACE_SECONDS: Final = 1.0
_SWEEP_SECONDS: Final = 0.5
_STDERR: Final = 2
#: Wipes the line of a progress bar and shows the cursor, which the bar hides.
_PLAIN_TERMINAL: Final = b"\r\x1b[2K\x1b[?25h"


def end_at_once_when_interrupted() -> None:
    """Start the watcher; called once, from the main thread."""
    ear, mouth = socket.socketpair()
    mouth.setblocking(False)
    signal.set_wakeup_fd(mouth.fileno())
    watcher = threading.Thread(target=_watch, args=(ear, mouth), daemon=True)
    watcher.start()


def _watch(ear: socket.socket, mouth: socket.socket) -> None:
    with ear, mouth:
        while number := ear.recv(1):
            if number[0] == signal.SIGINT:
                threading.Event().wait(_GRACE_SECONDS)
                _sweep()
                os._exit(INTERRUPTED)


def _sweep() -> None:
    # What Python runs when it ends as usual: it removes temporary folders, and what `swept` names.
    sweeper = threading.Thread(target=atexit._run_exitfuncs, daemon=True)
    sweeper.start()
    sweeper.join(_SWEEP_SECONDS)
    if os.isatty(_STDERR):
        os.write(_STDERR, _PLAIN_TERMINAL)


@contextmanager
def swept(folder: Path) -> Iterator[None]:
    """See to it that an interrupt leaves nothing hidden in a folder, nor the folder if it is new.

    Parameters
    ----------
    folder : Path
        Where files are being written by way of a hidden folder inside it.
    """
    new, before = not folder.exists(), set(folder.glob(".*"))

    def sweep() -> None:
        for path in set(folder.glob(".*")) - before:
            shutil.rmtree(path, ignore_errors=True)
        if new:
            with suppress(OSError):  # it holds what was finished
                folder.rmdir()

    atexit.register(sweep)
    try:
        yield
    finally:
        atexit.unregister(sweep)
