"""Tab: a tune on an instrument, note by note, at a shift that is asked or costs least."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
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
_MARK: Final = "?"
_LINE: Final = 16


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
    """Return a tab as plain text: notes over holes, sixteen notes a line."""
    cells = []
    for note, way in zip(found.tune.notes, found.ways, strict=True):
        cells.append((note_name(note.midi + found.shift), way_text(way)))
    return "\n".join(_systems(cells))


def _systems(cells: Sequence[tuple[str, str]]) -> Iterator[str]:
    for at in range(0, len(cells), _LINE):
        system = cells[at : at + _LINE]
        widths = [max(map(len, cell)) for cell in system]
        for row in (0, 1):
            line = "  ".join(f"{c[row]:<{w}}" for c, w in zip(system, widths, strict=True))
            yield line.rstrip()
        if at + _LINE < len(cells):
            yield ""


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
