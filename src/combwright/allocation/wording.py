"""Shortages in words: which plates, where they must fit, and who waits for them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from combwright.allocation.hall import HallSet
from combwright.allocation.problem import Problem
from combwright.notes.names import note_name, parse_midi

#: More names than this are counted instead.
_MOST_NAMES = 6


@dataclass(frozen=True, slots=True)
class Described:
    """A Hall set as people see it: note names low to high, holes, names of parts."""

    pitches: tuple[str, ...]
    holes: tuple[int, ...]
    parts: tuple[str, ...]


def describe(problem: Problem, hall_set: HallSet, *, wanted: np.ndarray | None = None) -> Described:
    """Say which notes, holes and parts a Hall set is about.

    Parameters
    ----------
    problem, hall_set
        The set, a mask over the problem's classes and parts.
    wanted : array of bool, shape (classes + parts,)
        Only those are named; others that the set also holds want nothing today.
    """
    columns = hall_set.columns if wanted is None else hall_set.columns & wanted
    first = len(problem.classes)
    wants = [want for c in np.flatnonzero(columns[:first]) for want in problem.wants[c]]
    return Described(
        pitches=tuple(note_name(midi) for midi in sorted({want.midi for want in wants})),
        holes=tuple(sorted({want.hole for want in wants})),
        parts=tuple(problem.parts[n] for n in np.flatnonzero(columns[first:])),
    )


def plates_in_words(count: int, described: Described) -> str:
    """Write `14 plates between A4 and A#4 that fit holes 3 to 5`, or `3 of the part 'cover'`."""
    if described.parts:
        return f"{count} of the part {listed([repr(p) for p in described.parts])}"
    tone = _tone(described.pitches)
    noun = "plate" if count == 1 else "plates"
    return f"{count} {noun} {tone} that {'fits' if count == 1 else 'fit'} {_holes(described.holes)}"


def _tone(pitches: Sequence[str]) -> str:
    """Write a run of notes as `between A4 and C5`, scattered ones by name, many by their number."""
    span = parse_midi(pitches[-1]) - parse_midi(pitches[0]) + 1
    if len(pitches) > 2 and span <= 2 * len(pitches):
        return f"between {pitches[0]} and {pitches[-1]}"
    if len(pitches) <= _MOST_NAMES:
        return f"of pitch {listed(pitches)}"
    return f"of {len(pitches)} pitches from {pitches[0]} to {pitches[-1]}"


def _holes(holes: Sequence[int]) -> str:
    if len(holes) == 1:
        return f"hole {holes[0]}"
    if len(holes) > 2 and holes[-1] - holes[0] == len(holes) - 1:
        return f"holes {holes[0]} to {holes[-1]}"
    return "holes " + listed([str(hole) for hole in holes])


def listed(names: Sequence[str]) -> str:
    """Write `a, b and c`; many names are cut short and counted."""
    if len(names) > _MOST_NAMES:
        return f"{', '.join(names[:_MOST_NAMES])} and {len(names) - _MOST_NAMES} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
