"""How long somebody who guesses passwords waits: after a few tries, twice as long each time."""

from datetime import timedelta
from math import ceil
from typing import Final

from django.utils.translation import ngettext

#: Tries older than this count no more.
WINDOW: Final = timedelta(minutes=15)
#: Failed tries that are free, for one name and for one address. An address has more of them: a
#: whole workshop may share it.
FREE_FOR_A_NAME: Final = 5
FREE_FOR_AN_ADDRESS: Final = 20
FIRST_WAIT_SECONDS: Final = 10
LONGEST_WAIT_SECONDS: Final = 15 * 60


def seconds_to_wait(failed: int, free: int, seconds_since_last: float) -> int:
    """Return how many whole seconds are left before the next try.

    Parameters
    ----------
    failed : int
        Tries that failed within the window.
    free : int
        How many of them cost nothing.
    seconds_since_last : float
        Since the last of them; below 0 counts as 0 (the clock was put back).
    """
    if failed < free:
        return 0
    doubled = FIRST_WAIT_SECONDS << (failed - free)
    whole = min(doubled, LONGEST_WAIT_SECONDS)
    return max(0, ceil(whole - max(0.0, seconds_since_last)))


def in_words(seconds: int) -> str:
    """Return a wait as people say it: seconds up to two minutes, then whole minutes."""
    if seconds <= 120:
        return ngettext("%d second", "%d seconds", seconds) % seconds
    minutes = ceil(seconds / 60)
    return ngettext("%d minute", "%d minutes", minutes) % minutes
