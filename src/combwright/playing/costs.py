"""What playing costs: one small file of numbers, the same for tab, match and swaps.

Costs are kept as whole hundredths, so that sums are exact and the same on every machine.
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from combwright.comb.reach import Sound
from combwright.errors import CombwrightError
from combwright.files.kinds import FileKind
from combwright.files.opening import read_text
from combwright.files.results import Read, one_line
from combwright.files.settings import MOST_MIB, Section, Settings, parse_settings
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
    """Return the costs of a beginner, an intermediate or an expert player, in any case.

    Raises
    ------
    BadCosts
        If there is no preset of that name.
    """
    known = name.strip().lower()
    if known not in PRESETS:
        raise BadCosts(
            f"{name!r} is no kind of player; {', '.join(PRESETS)} are, or a .toml file of costs."
        )
    return PlayingCosts(**_values(_presets().section(known), None))


def read_costs(path: Path | str) -> Read[PlayingCosts]:
    """Read a file of costs; what it leaves out is as in the preset that it names with `like`.

    Raises
    ------
    BadFile, BadTable
        If it cannot be read, one line for each problem.
    BadCosts
        If its numbers contradict one another.
    """
    path = Path(path)
    return parse_costs(read_text(path, most_mib=MOST_MIB), name=path.name)


def parse_costs(text: str, *, name: str) -> Read[PlayingCosts]:
    """Read costs from a text, as `read_costs` does from a file of that name.

    Raises
    ------
    BadFile, BadTable, BadCosts
        As `read_costs`.
    """
    settings = parse_settings(text, name=name)
    values = _values(settings, preset(settings.choice("like", PRESETS, USUAL)))
    warnings = settings.finish()
    try:
        return Read(PlayingCosts(**values), warnings)
    except BadCosts as error:
        raise BadCosts(one_line(f"{name}: {error}")) from None


def _costs_line(path: Path) -> Read[str]:
    read = read_costs(path)
    costs = read.value
    bend, over, gone = (n / _UNIT for n in (costs.bend[0], costs.overbend, costs.missing))
    line = f"playing costs: a bend {bend:g}, an overbend {over:g}, a missing note {gone:g}"
    return Read(line, read.warnings)


#: Files of costs, for those who tell kinds of files apart.
COSTS_FILE: Final = FileKind(
    "file of playing costs",
    ("like", "bend", "overbend", "along", "missing", "short", "breath", "jump"),
    _costs_line,
)


def _presets() -> Settings:
    text = files("combwright.playing").joinpath("presets.toml").read_text("utf-8")
    return parse_settings(text, name="presets.toml")


def _values(section: Section, base: PlayingCosts | None) -> dict[str, Any]:
    def cost(place: Section, key: str, field: str) -> int:
        default = None if base is None else getattr(base, field) / _UNIT
        return round(place.number(key, 0, _MOST, default) * _UNIT)

    def time(place: Section, key: str, field: str) -> int:
        default = None if base is None else getattr(base, field) / WHOLE
        return round(place.number(key, 0, 100, default) * WHOLE)

    short, breath, jump = (section.section(key) for key in ("short", "breath", "jump"))
    return {
        "bend": _bends(section, base),
        "overbend": cost(section, "overbend", "overbend"),
        "along": cost(section, "along", "along"),
        "missing": cost(section, "missing", "missing"),
        "short_under": time(short, "under", "short_under"),
        "short_times": cost(short, "times", "short_times"),
        "change": cost(breath, "change", "change"),
        "change_after_rest": cost(breath, "after_rest", "change_after_rest"),
        "rest": time(breath, "rest", "rest"),
        "hole": cost(jump, "hole", "hole"),
        "hole_most": cost(jump, "most", "hole_most"),
    }


def _bends(section: Section, base: PlayingCosts | None) -> tuple[int, ...]:
    usual = base.bend if base else (_UNIT,)
    if base is not None and not section.has("bend"):
        return usual
    before = bool(section.problems)
    given = section.items("bend", (Decimal, int))
    wrong = [each for each in given if not Decimal(each).is_finite() or not 0 <= each <= _MOST]
    if wrong:
        section.wrong("bend", f"{wrong[0]} is out of range; 0 to {_MOST:g} is right.")
    elif not given and bool(section.problems) == before:
        section.wrong("bend", "is empty; give a cost for each depth, as in [1, 1.5, 2.5].")
    return usual if wrong or not given else tuple(round(each * _UNIT) for each in given)
