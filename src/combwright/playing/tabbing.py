"""Tab: a tune on an instrument, note by note, at a shift that is asked or costs least."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from combwright.comb.reach import Sound
from combwright.notes.names import note_name
from combwright.playing.costs import PlayingCosts
from combwright.playing.lines import line_of
from combwright.playing.programme import Ways, play
from combwright.tunes.tune import Tune

#: The shifts that are tried for the cheapest: as written, then nearest first.
NEAREST: Final = tuple(sorted(range(-36, 37), key=lambda by: (abs(by), by)))
OCTAVES: Final = (0, -12, 12, -24, 24, -36, 36)
#: Stands wherever tab stands.
LEGEND: Final = "4 is blow, -4 draw, ' a semitone bent, ^ overbent, ? not on this instrument."
_MARK: Final = "?"
#: A line of tab holds so many notes at the most, and is so many letters wide.
_LINE: Final = 16
_WIDTH: Final = 79
_GAP: Final = "  "


@dataclass(frozen=True, slots=True)
class Tab:
    """A tune as it is played on one instrument.

    Parameters
    ----------
    tune : Tune
        As it was read.
    shift : int
        Semitones by which it is moved.
    cost : int
        In hundredths.
    ways : tuple
        The way of each note; None where the instrument does not have it.
    """

    tune: Tune
    shift: int
    cost: int
    ways: tuple[Sound | None, ...]

    @property
    def bends(self) -> int:
        """How many notes are bent."""
        return sum(way is not None and way.how == "bend" for way in self.ways)

    @property
    def overbends(self) -> int:
        """How many notes are overbent."""
        return sum(way is not None and way.how == "overbend" for way in self.ways)

    @property
    def unplayable(self) -> int:
        """How many notes the instrument does not have."""
        return self.ways.count(None)


def tab(tune: Tune, ways: Ways, costs: PlayingCosts, shifts: Sequence[int] = (0,)) -> Tab:
    """Return how to play a tune, at the cheapest of some shifts; of equal ones the first."""
    line = line_of(tune, costs)
    found = [(play(line, ways, costs, shift=by), by) for by in shifts]
    played, shift = min(found, key=lambda each: each[0].cost)
    return Tab(tune, shift, played.cost, played.ways)


def way_text(way: Sound | None) -> str:
    """Return a way as tab: `4` blown, `-4` drawn, an apostrophe a semitone bent, `^` overbent."""
    if way is None:
        return _MARK
    sign = "-" if way.breath == "draw" else ""
    bent = {"bend": "'" * way.semitones, "overbend": "^"}.get(way.how, "")
    return f"{sign}{way.hole}{bent}"


def tab_text(found: Tab) -> str:
    """Return a tab as plain text: notes over holes, up to sixteen notes and 79 letters a line."""
    cells = [
        (note_name(note.midi + found.shift), way_text(way))
        for note, way in zip(found.tune.notes, found.ways, strict=True)
    ]
    return "\n\n".join(_system(system) for system in _systems(cells))


def _systems(cells: Sequence[tuple[str, str]]) -> Iterator[list[tuple[str, str]]]:
    system: list[tuple[str, str]] = []
    taken = 0
    for cell in cells:
        width = max(map(len, cell)) + len(_GAP)
        if len(system) == _LINE or taken + width > _WIDTH + len(_GAP):
            yield system
            system, taken = [], 0
        system.append(cell)
        taken += width
    yield system


def _system(cells: Sequence[tuple[str, str]]) -> str:
    widths = [max(map(len, cell)) for cell in cells]
    rows = (
        _GAP.join(f"{cell[row]:<{width}}" for cell, width in zip(cells, widths, strict=True))
        for row in (0, 1)
    )
    return "\n".join(row.rstrip() for row in rows)


@dataclass(frozen=True, slots=True)
class Breathing:
    """How a tune is breathed.

    Parameters
    ----------
    phrases : int
        Stretches between rests long enough to breathe in.
    one_breath : int
        How many of them are all blown or all drawn.
    changes : int
        How often blow and draw follow each other within a phrase.
    """

    phrases: int
    one_breath: int
    changes: int


def breathing(found: Tab, costs: PlayingCosts) -> Breathing:
    """Return how a tab is breathed; notes that are missing are passed over."""
    phrases: list[list[Sound | None]] = []
    for step, way in zip(line_of(found.tune, costs), found.ways, strict=True):
        if step.rested:
            phrases.append([])
        phrases[-1].append(way)
    changes = [
        sum(a is not None and b is not None and a.breath != b.breath for a, b in pairwise(phrase))
        for phrase in phrases
    ]
    breaths = [{way.breath for way in phrase if way is not None} for phrase in phrases]
    return Breathing(len(phrases), sum(len(each) == 1 for each in breaths), sum(changes))


def explain(found: Tab, costs: PlayingCosts) -> dict[str, int]:
    """Return what the cost of a tab is made of, in hundredths; the parts add up to it."""
    line = line_of(found.tune, costs)
    parts = {"bends": 0, "overbends": 0, "along": 0, "missing": 0, "moves": 0}
    for n, (step, way) in enumerate(zip(line, found.ways, strict=True)):
        before = found.ways[n - 1] if n else None
        if way is None:
            parts["missing"] += costs.missing
            continue
        alone = costs.of_sound(way, short=step.short)
        along = 0 if way.along is None else costs.along
        parts["along"] += along
        if way.how != "natural":
            parts["bends" if way.how == "bend" else "overbends"] += alone - along
        if before is not None:
            parts["moves"] += costs.between(before, way, rested=step.rested)
    return parts
