"""A tune as the cost model sees it: pitches, which of them are short, which begin a phrase.

Two tunes that look alike here cost alike.
"""

from dataclasses import dataclass
from itertools import pairwise

from combwright.playing.costs import PlayingCosts
from combwright.tunes.tune import Tune


@dataclass(frozen=True, slots=True)
class Step:
    """One note of a line."""

    midi: int
    short: bool
    rested: bool


def line_of(tune: Tune, costs: PlayingCosts) -> tuple[Step, ...]:
    """Return the line of a tune under the costs' lengths of short notes and of rests."""
    if not tune.notes:
        return ()
    gaps = [after.start - note.start - note.length for note, after in pairwise(tune.notes)]
    return tuple(
        Step(note.midi, note.length < costs.short_under, gap >= costs.rest)
        for note, gap in zip(tune.notes, [costs.rest, *gaps], strict=True)
    )
