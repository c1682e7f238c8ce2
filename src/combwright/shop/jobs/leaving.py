"""How a process that works is told to end, and sees to it that it does.

A signal only puts a word into a queue, which is safe wherever it meets the program; a thread hears
it and tells the worker. Work that does not listen is given some time. Then the process ends under
it, and the job is taken up again when its lease has run out.
"""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from queue import SimpleQueue
from threading import Event, Thread
from types import FrameType
from typing import Final

_STDIN: Final = 0
#: Shorter than what those who stop services and containers commonly wait.
GRACE_SECONDS: Final = 8.0


class Leaving:
    """Word that this process must end: `event` is set when it came.

    Parameters
    ----------
    grace : float
        Seconds after which the process ends, whatever it is at.
    """

    def __init__(self, grace: float = GRACE_SECONDS) -> None:
        self.event = Event()
        self.interrupted = False
        self._grace = grace
        self._gone = Event()
        self._words: SimpleQueue[int] = SimpleQueue()

    def say(self, word: int = 0, _frame: FrameType | None = None) -> None:
        """Tell the process to end; `word` is a signal's number, or 0."""
        self._words.put(word)

    def listen(self) -> None:
        """Wait for word, pass it on, and end the process if it does not end in time."""
        word = self._words.get()
        if word < 0:
            return
        self.interrupted = word == signal.SIGINT
        self.event.set()
        if not self._gone.wait(self._grace):
            os._exit(0)

    def over(self) -> None:
        """Say that the process ends by itself."""
        self._gone.set()
        self._words.put(-1)


@contextmanager
def told_by_signals(*, interrupts: bool) -> Iterator[Leaving]:
    """Be told to end by signals; to be entered in the main thread.

    Parameters
    ----------
    interrupts : bool
        Whether Ctrl-C tells this process too; otherwise it is left to the one that started it.
    """
    leaving = Leaving()
    on_interrupt = leaving.say if interrupts else signal.SIG_IGN
    before = {
        signal.SIGTERM: signal.signal(signal.SIGTERM, leaving.say),
        signal.SIGINT: signal.signal(signal.SIGINT, on_interrupt),
    }
    Thread(target=leaving.listen, name="leaving", daemon=True).start()
    try:
        yield leaving
    finally:
        leaving.over()
        for number, handler in before.items():
            signal.signal(number, handler)


def told_by_parent(leaving: Leaving) -> None:
    """Be told to end by the end of standard input: whoever started this process is gone."""

    def listen() -> None:
        while os.read(_STDIN, 64):
            pass
        leaving.say()

    Thread(target=listen, name="parent", daemon=True).start()
