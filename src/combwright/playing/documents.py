"""What tab and match answer: as documents, and in words."""

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING, Any, Final

from combwright.comb.reach import Sound
from combwright.notes.names import note_name
from combwright.playing.costs import PlayingCosts
from combwright.playing.tabbing import (
    LEGEND,
    Breathing,
    Tab,
    breathing,
    explain,
    tab_text,
    way_text,
)
from combwright.tunes.tune import as_fraction

if TYPE_CHECKING:
    from combwright.playing.matching import Hard, LayoutFit, TuneFit

SCHEMA: Final = 1
_UNIT: Final = 100
_WIDTH: Final = 79
#: How many of a ranking are told; the customer's own are told wherever they stand.
_SHOWN: Final = 30
_BEST: Final = 5
_DIRECTION: Final = ("down", "up")


def tab_document(tabs: Sequence[Tab], costs: PlayingCosts) -> dict[str, Any]:
    """Return the document of `tab --json`."""
    return {"schema": SCHEMA, "tunes": [_tab(each, costs) for each in tabs]}


def _tab(found: Tab, costs: PlayingCosts) -> dict[str, Any]:
    breath = breathing(found, costs)
    notes = zip(found.tune.notes, found.ways, strict=True)
    return {
        "title": found.tune.title,
        "source": found.tune.source,
        "shift": found.shift,
        "notes": [
            {
                "pitch": note_name(note.midi + found.shift),
                "start": as_fraction(note.start),
                "length": as_fraction(note.length),
                **_way(way),
            }
            for note, way in notes
        ],
        "text": tab_text(found),
        "bends": found.bends,
        "overbends": found.overbends,
        "unplayable": found.unplayable,
        "phrases": breath.phrases,
        "one_breath": breath.one_breath,
        "breath_changes": breath.changes,
        "cost": found.cost / _UNIT,
        "costs": {name: cost / _UNIT for name, cost in explain(found, costs).items()},
        "remarks": list(found.tune.remarks),
    }


def _way(way: Sound | None) -> dict[str, Any]:
    if way is None:
        return {"hole": None, "breath": None, "bend": 0, "overbend": None}
    over = {"blow": "overblow", "draw": "overdraw"}[way.breath] if way.how == "overbend" else None
    bend = way.semitones if way.how == "bend" else 0
    return {"hole": way.hole, "breath": way.breath, "bend": bend, "overbend": over}


def tab_lines(tabs: Sequence[Tab], costs: PlayingCosts) -> Iterator[str]:
    """Write tabs as text."""
    for found in tabs:
        yield from wrap(found.tune.title, _WIDTH)
        if found.shift:
            yield f"moved {_counted(abs(found.shift), 'semitone')} {_DIRECTION[found.shift > 0]}"
        yield ""
        yield tab_text(found)
        yield ""
        yield (
            f"{_counted(len(found.ways), 'note')}: {found.bends} bent, "
            f"{found.overbends} overbent, {found.unplayable} not on this instrument"
        )
        yield from wrap(_breath(breathing(found, costs)), _WIDTH)
        parts = [f"{name} {cost / _UNIT:g}" for name, cost in explain(found, costs).items() if cost]
        yield f"cost {found.cost / _UNIT:g}{': ' if parts else ''}{', '.join(parts)}"
        yield ""
    yield LEGEND


def _breath(found: Breathing) -> str:
    return (
        f"{_counted(found.phrases, 'phrase')}, {found.one_breath} in one breath; "
        f"{_counted(found.changes, 'change')} of breath within phrases"
    )


def _counted(number: int, noun: str) -> str:
    return f"{number:,} {noun}" + ("" if number == 1 else "s")


def match_document(
    fits: "Sequence[LayoutFit]", tunes: int, *, as_written: bool = False
) -> dict[str, Any]:
    """Return the document of `match --json`: every instrument is worked out in full."""
    first = next((each for each in fits if each.own), None)
    base = first or next((each for each in fits if each.name == "standard"), None)
    return {
        "schema": SCHEMA,
        "candidates": len(fits),
        "bounded": len(fits),
        "evaluated": len(fits),
        "proven": True,
        "best": [_placed(each) for each in fits[:_BEST]],
        "base": None if base is None else _placed(base),
        "tunes": tunes,
        "as_written": as_written,
        "layouts": [_fit(each) for each in fits],
    }


def _placed(found: "LayoutFit") -> dict[str, Any]:
    layout, _, changes = found.name.partition(", ")
    return {
        "layout": layout,
        "key": found.key or None,
        "changes": [each.strip() for each in changes.split(";") if each.strip()],
        "cost": found.cost / _UNIT,
        "bends_per_100": round(found.bends_per_100, 4),
    }


def _fit(found: "LayoutFit") -> dict[str, Any]:
    return {
        "layout": found.name,
        "key": found.key or None,
        "own": found.own,
        "cost": found.cost / _UNIT,
        "natural": found.natural,
        "with_bends": found.with_bends,
        "with_overbends": found.with_overbends,
        "bends_per_100": round(found.bends_per_100, 4),
        "notes": found.notes,
        "bends": found.bends,
        "overbends": found.overbends,
        "missing": found.missing,
        "worst": [
            {"title": w.tune.title, "source": w.tune.source, "shift": w.shift,
             "cost": w.cost / _UNIT, "bends": w.bends, "overbends": w.overbends,
             "missing": w.missing}
            for w in found.worst
        ],
        "hardest": [
            {"pitch": note_name(hard.midi), **_way(hard.way), "times": hard.times}
            for hard in found.hardest
        ],
        "easier": found.easier,
        "saves": None if found.saves is None else found.saves / _UNIT,
    }  # fmt: skip


def match_lines(
    fits: "Sequence[LayoutFit]", tunes: int, *, as_written: bool = False
) -> Iterator[str]:
    """Write a ranking as text: the first, the customer's own, and why the first is not better."""
    where = "in its own key, moved by octaves only" if as_written else "at its best place"
    counted = "1 tune" if tunes == 1 else f"{tunes:,} tunes, each"
    yield f"{counted} {where}; the cheapest layout first."
    yield "Tunes that can be had with natural notes, with bends too, with overbends too:"
    yield ""
    names = [candidate_name(each) for each in fits]
    wide = max(len(name) for name in ("layout", *names)) + 6
    has_own = any(each.own for each in fits)
    head = f"{'layout':<{wide}} {'natural':>8} {'bends':>8} {'over':>8} {'per 100':>8} {'cost':>12}"
    yield f"{head} {'easier':>8}" if has_own else head
    for place, (name, each) in enumerate(zip(names, fits, strict=True), start=1):
        if place <= _SHOWN or each.own:
            shares = (each.natural, each.with_bends, each.with_overbends)
            cells = " ".join(f"{share / tunes:>8.1%}" for share in shares)
            per = f"{each.bends_per_100:>8.2f}"
            line = f"{place:>4}. {name:<{wide - 6}} {cells} {per} {each.cost / _UNIT:>12,.1f}"
            yield line if each.easier is None else f"{line} {each.easier:>8,}"
    if len(fits) > _SHOWN:
        yield f"      and {len(fits) - _SHOWN:,} more; --json lists all."
    yield ""
    if has_own:
        yield "easier: tunes that are easier on it than on any of yours."
    yield "per 100: bent notes in a hundred. The dearest tunes of the first, for their length:"
    for worst in fits[0].worst:
        yield f"  {worst_words(worst)}"
    if fits[0].hardest:
        yield "What costs most on it:"
        yield from (f"  {hard_words(each)}" for each in fits[0].hardest)


def candidate_name(found: "LayoutFit") -> str:
    """Return what an instrument is called in a ranking."""
    named = f"{found.name} in {found.key}" if found.key else found.name
    return f"{named} (yours)" if found.own else named


def hard_words(found: "Hard") -> str:
    """Say which note is hard, how it is played, and how often."""
    times = f"{found.times:,} {'time' if found.times == 1 else 'times'}"
    if found.way is None:
        return f"{note_name(found.midi)} is not there, {times}"
    return f"{note_name(found.midi)} as {way_text(found.way)}, {times}"


def worst_words(found: "TuneFit") -> str:
    """Say of a tune which of its notes are hard."""
    hows = [("bent", found.bends), ("overbent", found.overbends), ("missing", found.missing)]
    why = ", ".join(f"{count} {how}" for how, count in hows if count) or "jumps and breath only"
    return f"{found.tune.title}: {why} of {len(found.tune.notes)} notes"
