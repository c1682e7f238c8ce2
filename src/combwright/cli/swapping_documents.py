"""What swaps answers: as a document, and in words."""

from collections.abc import Iterator, Sequence
from typing import Any, Final

from combwright.comb.difference import difference
from combwright.comb.layouts import Layout
from combwright.notes.names import note_name
from combwright.playing.costs import PlayingCosts
from combwright.playing.documents import SCHEMA
from combwright.playing.matching import LayoutFit, match
from combwright.playing.repertoire import lowest_reed
from combwright.playing.swap_sets import Swap, swapped
from combwright.playing.swapping import Found, Round
from combwright.tunes.tune import Tune

_UNIT: Final = 100


def swaps_document(
    rounds: Sequence[Round], layout: Layout, tunes: Sequence[Tune], costs: PlayingCosts
) -> dict[str, Any]:
    """Return the document of `swaps --json`; the counts at its top are those of the last round."""
    last = rounds[-1]
    per = _per_100(rounds, layout, tunes, costs)
    return {
        "schema": SCHEMA,
        "candidates": last.candidates,
        "bounded": last.bounded,
        "evaluated": last.evaluated,
        "proven": True,
        "best": [_set(each, per) for each in _ranked(rounds)],
        "base": _set(rounds[0].best[0], per),
        "rounds": [
            {
                "swaps": each.size,
                "candidates": each.candidates,
                "bounded": each.bounded,
                "evaluated": each.evaluated,
                "lowest_bound_left": None if each.lowest_left is None else each.lowest_left / _UNIT,
                "best": [_set(found, per) for found in each.best],
            }
            for each in rounds[1:]
        ],
    }


def _set(found: Found, per: dict[tuple[Swap, ...], LayoutFit]) -> dict[str, Any]:
    fit = per[found.swaps]
    return {
        "changes": [swap.text for swap in found.swaps],
        "cost": found.cost / _UNIT,
        "bends_per_100": round(fit.bends_per_100, 4),
        "natural": fit.natural,
        "missing": fit.missing,
    }


def swaps_lines(
    rounds: Sequence[Round], layout: Layout, tunes: Sequence[Tune], costs: PlayingCosts
) -> Iterator[str]:
    """Write the best swaps and the proof as text."""
    per = _per_100(rounds, layout, tunes, costs)
    base = rounds[0].best[0]
    yield f"{layout.title}, {len(tunes):,} tunes: {_words(base, per, len(tunes))}"
    for each in rounds[1:]:
        yield ""
        yield f"Best with {each.size} swapped:"
        for found in each.best:
            changes = "; ".join(swap.text for swap in found.swaps)
            yield f"  {changes}: {_words(found, per, len(tunes))}"
        if each.best:
            lost = difference(layout, swapped(layout, each.best[0].swaps)).lost
            named = ", ".join(f"{note_name(n.midi)} ({n.how})" for n in lost) or "nothing"
            yield f"  The first loses: {named}."
        yield f"  {_proof(each)}"


def _proof(found: Round) -> str:
    if not found.candidates:
        return "Proof: there is no such set."
    left = "none was left"
    if found.lowest_left is not None:
        left = f"no other can cost less than {found.lowest_left / _UNIT:,.2f}"
    return (
        f"Proof: {found.candidates:,} sets, {found.bounded:,} bounded, {found.evaluated:,} worked "
        f"out in full; {left}."
    )


def _words(found: Found, per: dict[tuple[Swap, ...], LayoutFit], tunes: int) -> str:
    fit = per[found.swaps]
    return (
        f"cost {found.cost / _UNIT:,.2f}, {fit.natural / tunes:.1%} of tunes with natural notes, "
        f"{fit.bends_per_100:.2f} bends in 100 notes"
    )


def _ranked(rounds: Sequence[Round]) -> list[Found]:
    found = [each for round_ in rounds[1:] for each in round_.best]
    return sorted(found, key=lambda each: (each.cost, len(each.swaps)))[:5]


def _per_100(
    rounds: Sequence[Round], layout: Layout, tunes: Sequence[Tune], costs: PlayingCosts
) -> dict[tuple[Swap, ...], LayoutFit]:
    """Return how each set that is told plays the repertoire."""
    low = lowest_reed(layout)
    sets = {found.swaps for each in rounds for found in each.best}
    return {
        chosen: match(tunes, [("", swapped(layout, chosen))], costs, low=low)[0] for chosen in sets
    }
