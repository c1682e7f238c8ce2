"""What is said over a live line: a page asks once, sends sound, and hears what the ear makes of it.

The page's first message is JSON: `rate` (samples a second), `aims` (the pitches its reeds should
have, in hertz), `microphone` (its key, or null) and `focus` (an aim's number, or null). A later
JSON message may change `focus`. All other messages are sound, 32-bit floats, little-endian.
"""

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from combwright.ear.live import Band, Glance, Listener
from combwright.errors import CombwrightError
from combwright.shop.tuning.clocks import Clock

LOWEST_RATE, HIGHEST_RATE = 8_000, 192_000
MOST_AIMS: Final = 64
#: More than a second of sound at once is no live line.
MOST_BYTES: Final = 4 * HIGHEST_RATE
_LOWEST_HZ, _HIGHEST_HZ = 20.0, 20_000.0
#: A sample beyond this is no sound; a loud one stays within 1.
_MOST_SAMPLE: Final = 8.0


class BadTalk(CombwrightError):
    """A message that no page of ours sends."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a page asks for when it opens the line."""

    rate: int
    aims: tuple[float, ...]
    microphone: int | None
    focus: int | None


def asked(text: str) -> Asked:
    """Read a page's first message.

    Raises
    ------
    BadTalk
        If it is none.
    """
    said = _read(text)
    rate, aims = said.get("rate"), said.get("aims")
    if not isinstance(rate, int | float) or not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise BadTalk(
            f"rate is {rate!r}; a microphone gives {LOWEST_RATE:,} to {HIGHEST_RATE:,} samples a "
            "second."
        )
    if not isinstance(aims, list) or len(aims) > MOST_AIMS or not all(map(_is_pitch, aims)):
        raise BadTalk(f"aims are up to {MOST_AIMS} pitches in hertz.")
    microphone = said.get("microphone")
    if microphone is not None and not _is_whole(microphone):
        raise BadTalk(f"microphone is {microphone!r}; it is a number or null.")
    return Asked(round(rate), tuple(map(float, aims)), microphone, _focus(said, len(aims)))


def _read(text: str) -> Mapping[str, Any]:
    try:
        said = json.loads(text)
    except (ValueError, RecursionError):
        said = None
    if not isinstance(said, dict):
        raise BadTalk("The message is no JSON object.")
    return said


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 2**63


def _is_pitch(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return _LOWEST_HZ <= value <= _HIGHEST_HZ


def _focus(said: Mapping[str, Any], aims: int) -> int | None:
    focus = said.get("focus")
    if focus is not None and not (_is_whole(focus) and focus < aims):
        raise BadTalk(f"focus is {focus!r}; there are aims 0 to {aims - 1}.")
    return focus


class Talk:
    """One live line: sound goes in, what is heard comes out, as messages for the page.

    Parameters
    ----------
    asked : Asked
        The first message.
    band : Band or None
        The levels of an ordinary breath at this microphone.
    clock : Clock
        How far the microphone's clock is off.
    """

    def __init__(self, asked: Asked, *, band: Band | None, clock: Clock) -> None:
        self._aims = np.array(asked.aims)
        self._focus = asked.focus
        self._clock = clock
        self._ear = Listener(asked.rate, band=band)

    def told(self, text: str) -> None:
        """Take a later JSON message.

        Raises
        ------
        BadTalk
            If it is none.
        """
        self._focus = _focus(_read(text), len(self._aims))

    def hear(self, raw: bytes) -> Iterator[dict[str, Any]]:
        """Take a block of sound and yield the messages that it gives rise to.

        Raises
        ------
        BadTalk
            If it is no block of sound.
        """
        if len(raw) % 4 or len(raw) > MOST_BYTES:
            raise BadTalk(f"A block has {len(raw):,} bytes; sound comes in floats of four.")
        block = np.nan_to_num(np.frombuffer(raw, "<f4").astype(float), nan=0.0)
        for glance in self._ear.hear(np.clip(block, -_MOST_SAMPLE, _MOST_SAMPLE)):
            yield self._said(glance)

    def _said(self, glance: Glance) -> dict[str, Any]:
        band = self._ear.band
        said: dict[str, Any] = {
            "at": round(glance.at_s, 4),
            "level": round(glance.level_db, 1),
            "breath": _breath(glance.level_db, band),
            "band": [band.low_db, band.high_db],
        }
        if glance.hz is None:
            return said
        hz = self._clock.true(glance.hz)
        sd = math.hypot(glance.sd_cents or 0.0, self._clock.sd_cents)
        return said | {
            "hz": round(hz, 4),
            "sd": round(sd, 4),
            "raw": glance.hz,
            "rawsd": round(glance.sd_cents or 0.0, 5),
            "spread": round(glance.spread_cents, 3),
            "settled": glance.settled,
            "unsure": glance.unsure,
            **self._aimed(hz),
        }

    def _aimed(self, hz: float) -> dict[str, Any]:
        """Say which reed it is: the one in focus, or the nearest; those alike are all named."""
        if not len(self._aims):
            return {}
        off = 1200 * np.log2(hz / self._aims)
        nearest = int(np.argmin(np.abs(off))) if self._focus is None else self._focus
        alike = np.flatnonzero(np.abs(off - off[nearest]) < _ALIKE_CENTS)
        return {
            "aim": nearest,
            "cents": round(float(off[nearest]), 4),
            "alike": [int(each) for each in alike],
        }


#: Seats whose pitches differ by less are one to the ear.
_ALIKE_CENTS: Final = 8.0


def _breath(level: float, band: Band) -> str:
    if level < band.low_db:
        return "soft"
    return "strong" if level > band.high_db else "good"
