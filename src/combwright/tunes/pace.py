"""How far reading is: whoever has much read can hear of each tune that is begun, and stop there."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

Told = Callable[[], None]


def _nobody() -> None:
    """Tell nobody."""


_TOLD: Final[ContextVar[Told]] = ContextVar("told", default=_nobody)


def step() -> None:
    """Say that a tune is begun."""
    _TOLD.get()()


@contextmanager
def told_of_each(told: Told) -> Iterator[None]:
    """Have a function called for every tune that is begun inside, in this thread alone.

    What it raises ends the reading, so it should be nothing that readers catch: no Exception.
    """
    before = _TOLD.set(told)
    try:
        yield
    finally:
        _TOLD.reset(before)
