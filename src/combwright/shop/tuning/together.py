"""Two or three reeds of an instrument that sound at once: what is heard of them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from combwright.ear.beats import Beat
from combwright.ear.sound import Sound
from combwright.ear.together import read_together
from combwright.ear.touching import surely, to_touch
from combwright.shop.tuning.aims import Aim
from combwright.shop.tuning.clocks import Clock


@dataclass(frozen=True, slots=True)
class Voiced:
    """A reed and what was heard of it: cents above its aim, the standard error, hertz."""

    aim: Aim
    cents: float
    sd_cents: float
    hz: float

    @property
    def wide(self) -> float:
        """Half of the width in which it lies with 95 % certainty."""
        return 1.96 * self.sd_cents


@dataclass(frozen=True, slots=True)
class Sounding:
    """What was heard: reeds from low to high, how each and the next beat, and what to do."""

    reeds: Sequence[Voiced]
    beats: Sequence[tuple[Voiced, Voiced, Beat]]
    asked: int
    unsure: bool
    advice: str


def hear_together(sound: Sound, wanted: Sequence[Aim], clock: Clock) -> Sounding:
    """Hear some reeds at once; those of a unison are told apart by which is lower alone.

    Parameters
    ----------
    wanted : sequence of Aim
        Two or three.

    Raises
    ------
    NoReeds
        If nothing steady sounds.
    """
    order = sorted(wanted, key=lambda aim: aim.wanted_mc)
    heard = read_together(sound, len(order), near_hz=[aim.hz for aim in order])
    found = [clock.true(voice.hz) for voice in heard.voices]
    given = _given(found, order)
    reeds = [
        Voiced(aim, _cents(hz, aim.hz), math.hypot(voice.sd_cents, clock.sd_cents), hz)
        for voice, hz, aim in zip(heard.voices, found, given, strict=True)
    ]
    beats = list(zip(reeds, reeds[1:], heard.beats, strict=False))
    # The clock's error is common to all; which reed is further off does not hang on it.
    errors = [voice.sd_cents for voice in heard.voices]
    return Sounding(reeds, beats, len(order), heard.unsure, _advice(reeds, errors))


def _given(found: Sequence[float], order: Sequence[Aim]) -> list[Aim]:
    """Give each voice its reed: all in their order, or of fewer voices each the nearest."""
    if len(found) == len(order):
        return list(order)
    left, given = list(order), []
    for hz in found:
        nearest = min(left, key=lambda aim: abs(_cents(hz, aim.hz)))
        left.remove(nearest)
        given.append(nearest)
    return given


def _cents(hz: float, wanted_hz: float) -> float:
    return 1200 * math.log2(hz / wanted_hz)


def _advice(reeds: Sequence[Voiced], errors: Sequence[float]) -> str:
    if len(reeds) < 2:
        return ""
    touched = [reeds[n] for n in to_touch([each.cents for each in reeds], errors)]
    if not touched:
        most = f"{max(map(surely, errors)):.1f}"
        return _("All are within %(cents)s cents of their aims: leave them.") % {"cents": most}
    words = [_way(each) for each in touched]
    if len(words) == 1:
        return _("Touch %(reed)s.") % {"reed": words[0]}
    facts = {"one": words[0], "other": words[1]}
    return _("Two are equally far off: %(one)s, and %(other)s.") % facts


def _way(reed: Voiced) -> str:
    facts = {"reed": reed.aim.label, "cents": f"{abs(reed.cents):.2f}"}
    if reed.cents > 0:
        return _("%(reed)s, %(cents)s cents too high") % facts
    return _("%(reed)s, %(cents)s cents too low") % facts
