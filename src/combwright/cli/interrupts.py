"""Ctrl-C that works at once, also while a solver computes.

Python hands an interrupt to its main thread, which may be minutes deep in a solver's own code. A
watcher hears of it at once, gives the main thread a moment to tidy up, and then ends the process.
"""

import os
import signal
import socket
import threading
from typing import Final

INTERRUPTED: Final = 130
_GRACE_SECONDS: Final = 1.0


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
                os._exit(INTERRUPTED)
