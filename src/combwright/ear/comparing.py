"""Two instruments compared note by note, or one before and after: the same within margins, or not.

Level and pitch are judged by margins; attack, steadiness and spectrum are shown as they differ. A
note is the same where both its level and its pitch are shown to lie within their margins, and
different where one is shown to lie beyond; each is judged at 95 % by itself.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from combwright.ear.compared import Comparison, Difference, Margins, Note, S
from combwright.ear.equivalence import Verdict, estimates
from combwright.ear.measures import Measured, Played
from combwright.ear.sound import BadSound
from combwright.ear.spectra import spectrum_of

_FEWEST_MATCHED: Final = 3

Pair = tuple[tuple[Played, ...], tuple[Played, ...]]
Value = Callable[[Played], float | None]


class NothingInCommon(BadSound):
    """Two takes without a note that both have."""


class CannotMatch(BadSound):
    """Too few notes to tell another gain from what differs."""


def compare(
    a: Measured[S],
    b: Measured[S],
    seats: Sequence[S],
    *,
    margins: Margins | None = None,
    match_levels: bool = False,
) -> Comparison[S]:
    """Compare what two instruments played.

    Parameters
    ----------
    a, b : Measured
        Of takes at one rate, see `measure_take` and `together`.
    seats : sequence
        Every seat there is, in the order in which the notes are to stand.
    margins : Margins or None
        1.5 dB and 3 cents without.
    match_levels : bool
        Whether the median difference of level is taken out: another gain, or another distance of
        the microphone, is no difference between the instruments.

    Raises
    ------
    NothingInCommon
        If no seat was played in both.
    CannotMatch
        If levels are to be matched over fewer than three notes.
    """
    margins = margins or Margins()
    both = [seat for seat in seats if seat in a.played and seat in b.played]
    if not both:
        raise NothingInCommon(_why_nothing(a, b))
    pairs = [(_sure(a.played[seat]), _sure(b.played[seat])) for seat in both]
    level = _differences(pairs, lambda once: once.level_lkfs)
    usual = _usual_difference(level)
    if match_levels:
        level = _matched(level)
    notes = tuple(_notes(both, pairs, level, margins))
    only = [
        tuple(seat for seat in seats if seat in one.played and seat not in other.played)
        for one, other in ((a, b), (b, a))
    ]
    neither = tuple(seat for seat in seats if seat not in a.played and seat not in b.played)
    return Comparison(notes, only[0], only[1], neither, margins, usual, match_levels)


def _why_nothing(a: Measured[S], b: Measured[S]) -> str:
    silent = [name for name, side in (("A", a), ("B", b)) if not side.played]
    if silent:
        what = f"No note of this layout is heard in {' and in '.join(silent)}"
    else:
        what = f"A and B have no note in common ({len(a.played)} and {len(b.played)} are heard)"
    return f"{what}; are layout and key the right ones?"


def _sure(played: tuple[Played, ...]) -> tuple[Played, ...]:
    """Leave out notes that may belong elsewhere, where there are others."""
    return tuple(once for once in played if not once.unsure) or played


def _differences(pairs: Sequence[Pair], value: Value, sd: Value | None = None) -> list[Difference]:
    sides = [
        [np.array(list(_values(pair[side], value)), dtype=np.float64) for pair in pairs]
        for side in (0, 1)
    ]
    least = [0.0 if sd is None else _joint_error(pair, sd) for pair in pairs]
    found = estimates(sides[0], sides[1], least)
    means = [[float(v.mean()) if len(v) else None for v in values] for values in sides]
    return [Difference(*each) for each in zip(*means, found, strict=True)]


def _values(played: tuple[Played, ...], value: Value) -> Iterator[float]:
    for once in played:
        found = value(once)
        if found is not None and np.isfinite(found):
            yield found


def _joint_error(pair: Pair, sd: Value) -> float:
    """Return the error of the difference of two means that the readings themselves state."""
    parts = [np.sum(np.square(list(_values(side, sd)))) / len(side) ** 2 for side in pair]
    return float(np.sqrt(sum(parts)))


def _usual_difference(found: Sequence[Difference]) -> float | None:
    shifts = [shift for each in found if (shift := each.difference) is not None]
    return float(np.median(shifts)) if shifts else None


def _matched(found: Sequence[Difference]) -> list[Difference]:
    """Take the usual difference out of levels; of few notes it would hide what there is to see."""
    usual, there = _usual_difference(found), sum(each.difference is not None for each in found)
    if usual is None or there < _FEWEST_MATCHED:
        raise CannotMatch(
            f"Levels are matched over {_FEWEST_MATCHED} notes and more; the two share {there}."
        )
    return [
        replace(
            each,
            estimate=None if each.estimate is None else each.estimate.shifted(-usual),
            taken_out=usual,
        )
        for each in found
    ]


def _notes(
    seats: Sequence[S], pairs: Sequence[Pair], level: Sequence[Difference], margins: Margins
) -> Iterator[Note[S]]:
    pitch = _differences(pairs, lambda once: once.cents, lambda once: once.sd_cents)
    attack = _differences(pairs, lambda once: once.attack_ms)
    steadiness = _differences(pairs, lambda once: once.spread_cents)
    for n, (seat, pair) in enumerate(zip(seats, pairs, strict=True)):
        verdict, why = _judged(level[n], pitch[n], pair, margins)
        yield Note(
            seat,
            (len(pair[0]), len(pair[1])),
            level[n],
            pitch[n],
            attack[n],
            steadiness[n],
            spectrum_of(*pair),
            verdict,
            why,
        )


def _judged(
    level: Difference, pitch: Difference, pair: Pair, margins: Margins
) -> tuple[Verdict, str]:
    """Return the verdict on a note, and where there is none, why."""
    if any(once.unsure for side in pair for once in side):
        return "cannot tell", "which seat was heard is not sure"
    judged: dict[str, Verdict] = {
        name: "cannot tell" if each.estimate is None else each.estimate.verdict(margin)
        for name, each, margin in (
            ("level", level, margins.level_db),
            ("pitch", pitch, margins.cents),
        )
    }
    if "different" in judged.values():
        return "different", ""
    if set(judged.values()) == {"the same"}:
        return "the same", ""
    if level.a is None or level.b is None:
        return "cannot tell", "it is too quiet"
    if pitch.estimate is None:
        return "cannot tell", "it was played once only, and so were too few others"
    unknown = " and ".join(name for name, verdict in judged.items() if verdict == "cannot tell")
    return "cannot tell", f"{unknown} may differ by more than the margin, or by less"
