"""What playing costs: one small file of numbers, the same for tab, match and swaps.

Costs are kept as whole hundredths, so that sums are exact and the same on every machine.
"""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Final

from combwright.comb.reach import Sound
from combwright.errors import CombwrightError
from combwright.files.settings import Section, Settings, parse_settings, read_settings
from combwright.tunes.tune import WHOLE

PRESETS: Final = ("beginner", "intermediate", "expert")
USUAL: Final = "intermediate"
_UNIT: Final = 100
_MOST: Final = 500.0


class BadCosts(CombwrightError):
    """Costs that contradict one another, or a preset that does not exist."""


@dataclass(frozen=True, slots=True)
class PlayingCosts:
    """What each thing a player does costs, in hundredths; times in grains.

    Parameters
    ----------
    bend : tuple of int
        By depth, one semitone first; deeper costs as the last.
    overbend, along, missing : int
        For an overbend, for a note that brings another along, for a note that is not there.
    short_under : int
        Notes shorter than this make bends and overbends dearer.
    short_times : int
        By so many hundredths.
    change, change_after_rest : int
        For another breath than the note before, within a phrase and at its beginning.
    rest : int
        The shortest rest that parts phrases.
    hole, hole_most : int
        For each hole beyond the next, and at most.

    Raises
    ------
    BadCosts
        If a note that is missing could be cheaper than one that is there: the best way to play
        would then leave out notes.
    """

    bend: tuple[int, ...]
    overbend: int
    along: int
    missing: int
    short_under: int
    short_times: int
    change: int
    change_after_rest: int
    rest: int
    hole: int
    hole_most: int

    def __post_init__(self) -> None:
        dearest = max(*self.bend, self.overbend) * max(self.short_times, _UNIT) // _UNIT
        move = max(self.change, self.change_after_rest) + self.hole_most
        least = dearest + self.along + 2 * move
        if self.missing < least:
            raise BadCosts(
                f"A missing note costs {self.missing / _UNIT:g}, but the dearest note there is "
                f"{least / _UNIT:g} with the ways to and from it; give missing at least that."
            )

    def of_sound(self, sound: Sound, *, short: bool) -> int:
        """Return what a way to play a note costs by itself."""
        along = 0 if sound.along is None else self.along
        if sound.how == "natural":
            return along
        depth = min(sound.semitones, len(self.bend))
        cost = self.overbend if sound.how == "overbend" else self.bend[depth - 1]
        return along + (cost * self.short_times // _UNIT if short else cost)

    def between(self, before: Sound, after: Sound, *, rested: bool) -> int:
        """Return what going from one way of playing to the next costs."""
        holes = max(0, abs(before.hole - after.hole) - 1)
        cost = min(holes * self.hole, self.hole_most)
        if before.breath != after.breath:
            cost += self.change_after_rest if rested else self.change
        return cost


@cache
def preset(name: str) -> PlayingCosts:
    """Return the costs of a beginner, an intermediate or an expert player.

    Raises
    ------
    BadCosts
        If there is no preset of that name.
    """
    if name not in PRESETS:
        raise BadCosts(f"{name!r} is no kind of player; {', '.join(PRESETS)} are.")
    settings = _presets()
    return _costs(settings.section(name), None)


def read_costs(path: Path) -> PlayingCosts:
    """Read a file of costs; what it leaves out is as in the preset it names with `like`.

    Raises
    ------
    BadFile, BadTable
        If it cannot be read, one line for each problem.
    BadCosts
        If its numbers contradict one another.
    """
    settings = read_settings(path)
    base = preset(settings.choice("like", PRESETS, USUAL))
    costs = _costs(settings, base)
    settings.problems.finish()
    return costs


def _presets() -> Settings:
    text = files("combwright.playing").joinpath("presets.toml").read_text("utf-8")
    return parse_settings(text, name="presets.toml")


def _costs(section: Section, base: PlayingCosts | None) -> PlayingCosts:
    def cost(place: Section, key: str, field: str) -> int:
        default = None if base is None else getattr(base, field) / _UNIT
        return round(place.number(key, 0, _MOST, default) * _UNIT)

    def time(place: Section, key: str, field: str) -> int:
        default = None if base is None else getattr(base, field) / WHOLE
        return round(place.number(key, 0, 100, default) * WHOLE)

    short, breath, jump = (section.section(key) for key in ("short", "breath", "jump"))
    return PlayingCosts(
        bend=_bends(section, base),
        overbend=cost(section, "overbend", "overbend"),
        along=cost(section, "along", "along"),
        missing=cost(section, "missing", "missing"),
        short_under=time(short, "under", "short_under"),
        short_times=cost(short, "times", "short_times"),
        change=cost(breath, "change", "change"),
        change_after_rest=cost(breath, "after_rest", "change_after_rest"),
        rest=time(breath, "rest", "rest"),
        hole=cost(jump, "hole", "hole"),
        hole_most=cost(jump, "most", "hole_most"),
    )


def _bends(section: Section, base: PlayingCosts | None) -> tuple[int, ...]:
    if not section.has("bend") and base is not None:
        return base.bend
    from decimal import Decimal

    given = [float(each) for each in section.items("bend", (Decimal, int))]
    if not given or not all(0 <= each <= _MOST for each in given):
        section.wrong("bend", f"give costs by depth, each 0 to {_MOST:g}, as in [1, 1.5, 2.5].")
        return base.bend if base else (_UNIT,)
    return tuple(round(each * _UNIT) for each in given)
