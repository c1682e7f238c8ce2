"""What a line of ABC music is made of, and what its pieces say: pitches, lengths, bars, endings."""

import re
from fractions import Fraction
from functools import lru_cache
from typing import Final

from combwright.tunes.abc_keys import STEPS
from combwright.tunes.unfolding import Event

#: The longest and shortest note, in units.
_LONGEST: Final = 1000
_SHORTEST: Final = 1024
_MOST_TURNS: Final = 50
_NOTE: Final = r"(?:\^\^?|__?|=)?[A-Ga-g][,']*[\d/]*"
#: The last group that matched names the kind; a kind that is not named is left out in silence.
TOKEN: Final = re.compile(
    rf"""(?P<note>(?P<sign>\^\^?|__?|=)?(?P<pitch>[A-Ga-g][,']*)(?P<length>[\d/]*))
      | [\s`\\$*;).~HLMOPSTuv]+ | y\d* | "[^"]*" | \{{[^{{}}]*\}}
      | (?P<bar>(?P<signs>\[\|\] | \[?[:|]*\|[|\]:]* | \[?::+)(?:\s*\[?(?P<turns>\d[\d,.\-]*))?)
      | (?P<rest>[zxZX])(?P<rests>[\d/]*)
      | (?P<tuplet>\([2-9](?::\d?(?::\d{{0,2}})?)?)
      | \(
      | (?P<broken>>+|<+)
      | (?P<tie>-)
      | \[(?P<field>[A-Za-z]):(?P<value>[^\[\]]*)\]
      | \[(?P<ending>\d[\d,.\-]*)
      | (?P<open>\[)
      | (?P<close>\](?P<times>[\d/]*))
      | (?P<decoration>!(?:[^!\s|\[:\]]|\b:\b)+!) | !
      | \+(?P<old>(?:{_NOTE})+)\+ | \+[^+\s]*\+
      | (?P<overlay>&+)
      | (?P<comment>%.*)
      | (?P<unclosed>["{{].*)
      | (?P<odd>.)""",
    re.VERBOSE | re.DOTALL,
)
NOTES: Final = re.compile(r"(\^\^?|__?|=)?([A-Ga-g][,']*)([\d/]*)")
ALTERS: Final = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}


@lru_cache(maxsize=512)
def natural(pitch: str) -> tuple[int, str]:
    """Return what a letter with its commas and apostrophes sounds, and the letter as a capital."""
    letter = pitch[0].upper()
    above = pitch.count("'") - pitch.count(",") + (letter != pitch[0])
    return 60 + STEPS[letter] + 12 * above, letter


@lru_cache(maxsize=512)
def times(text: str) -> Fraction:
    """Read the length of a note in units: 3, 3/2, /2, /, //."""
    head, *rest = text.split("/")
    top = int(head[:6]) if head else 1
    bottom = 1
    for part in rest[:20]:
        bottom *= int(part[:6]) if part else 2
    return Fraction(min(top, _LONGEST), max(1, min(bottom, _SHORTEST)))


@lru_cache(maxsize=1024)
def lasting(unit: int, text: str) -> int:
    """Return the grains of a note or rest of so many units."""
    return round(unit * times(text))


@lru_cache(maxsize=1024)
def scaled(length: int, by: Fraction) -> int:
    """Return the grains nearest to a length times a fraction."""
    return round(length * by)


@lru_cache(maxsize=512)
def bar_events(signs: str, turns: str | None) -> tuple[Event, ...]:
    """Return what the signs of a bar line say, and the turns of the ending that begins there.

    A double bar at which an ending begins parts nothing: the ending belongs to what went before.
    """
    ending = (Event("ending", turns=read_turns(turns)),) if turns else ()
    lines = signs.strip(":[")
    before = len(signs) - len(signs.lstrip(":["))
    if not lines:  # dots alone
        return (Event("end"), Event("start"), *ending)
    closes, opens = signs.startswith(":"), signs.endswith(":")
    found: tuple[Event, ...] = ()
    if closes and opens:
        found = (Event("end"),)
    elif closes:
        found = (Event("end", turns=(min(before + 1, _MOST_TURNS),)),)
    if opens:
        found += (Event("start"),)
    if not found and not ending and signs != "[|]":
        found = (Event("double" if len(signs) > 1 else "bar"),)
    return found + ending


def read_turns(text: str) -> tuple[int, ...]:
    """Read the turns of an ending: 1, 1,3, 1-3."""
    turns: list[int] = []
    for part in re.split(r"[,.]", text):
        ends = [int(n[:2]) for n in part.split("-") if n]
        if ends:
            turns += range(ends[0], min(ends[-1], ends[0] + 20) + 1)
    return tuple(sorted({max(1, turn) for turn in turns})) or (1,)
