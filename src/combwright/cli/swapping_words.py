"""What swaps answers, in words."""

from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap
from typing import Final

from combwright.comb.reach import HOWS, How
from combwright.notes.keys import transposed_name
from combwright.notes.names import note_name
from combwright.playing.effects import ChordChange, Effect, ScaleChange, TuneChange
from combwright.playing.standing import Standing
from combwright.playing.supply import Plates, Use
from combwright.playing.swap_answer import SwapAnswer, Told, is_proven
from combwright.playing.swap_sets import Swap
from combwright.playing.swapping import Round

_UNIT: Final = 100
_WIDTH: Final = 79
_WORDS: Final[Mapping[How, str]] = {
    "natural": "natural", "bend": "bent", "overbend": "overbent", "missing": "missing",
}  # fmt: skip


def swaps_lines(answer: SwapAnswer, currency: str) -> Iterator[str]:
    """Write the best swaps, what each does, and the proof, as text."""
    tunes = len(answer.tunes)
    yield from _wrapped(
        f"{answer.layout.title}, {_counted(tunes, 'tune')}: "
        f"cost {_cost(answer.base.found.cost)}, {_standing(answer.base.standing, tunes)}."
    )
    for each in answer.rounds:
        yield ""
        yield from _wrapped(_heading(each, answer.base.found.cost))
        for rank, told in enumerate(answer.of(each), start=1):
            yield from _set(rank, told, answer, each, currency)
        yield from _wrapped(_proof(each, stocked=answer.base.plates is not None), "  ")


def _heading(found: Round, base: int) -> str:
    swapped = f"{_counted(found.size, 'reed')} swapped"
    if found.best and found.best[0].cost >= base:
        return f"With {swapped} nothing becomes easier; what costs least:"
    return f"Best with {swapped}:"


def _set(rank: int, told: Told, answer: SwapAnswer, found: Round, currency: str) -> Iterator[str]:
    cost, first = told.found.cost, rank == 1
    than = answer.base.found.cost if first else found.best[0].cost
    beside = _beside(cost - than, "the base" if first else "the first")
    yield from _wrapped("; ".join(swap.text for swap in told.found.swaps), f"{rank:>3}  ")
    lines = [f"cost {_cost(cost)}, {beside}: {_standing(told.standing, len(answer.tunes))}"]
    lines += _effect(told.effect, whole=first)
    if told.plates is not None:
        lines += _plates(told.found.swaps, told.plates, currency)
    for line in lines:
        yield from _wrapped(line, "     ")


def _effect(found: Effect, *, whole: bool) -> Iterator[str]:
    lost = [f"{note_name(n.midi)} ({n.how}, now {n.otherwise})" for n in found.lost]
    gained = [f"{note_name(n.midi)} ({n.how}, was {n.otherwise})" for n in found.gained]
    yield f"notes lost: {', '.join(lost) or 'none'}; gained: {', '.join(gained) or 'none'}"
    if whole and found.chords:
        three = [_chord(each) for each in found.chords if len(each.holes) == 3]
        yield f"chords of three holes: {'; '.join(three) or 'as they were'}"
    if whole and found.splits:
        yield f"octaves: {'; '.join(_chord(each) for each in found.splits)}"
    if whole and found.scales:
        yield f"major scale: {'; '.join(_scale(each) for each in found.scales)}"
    yield f"tunes: {found.easier:,} easier, {found.harder:,} harder, {found.same:,} as before"
    if found.worst:
        yield f"harder most: {_tunes(found.worst)}"
    if whole and found.best:
        yield f"easier most: {_tunes(found.best)}"


def _chord(change: ChordChange) -> str:
    at = f"{change.holes[0]} to {change.holes[-1]} {change.breath}"
    return f"{at} {change.was or 'nothing'} becomes {change.now or 'nothing'}"


def _scale(change: ScaleChange) -> str:
    fewer, more = (
        [(before[how] - after[how], how) for how in HOWS if before[how] > after[how]]
        for before, after in ((change.was, change.now), (change.now, change.was))
    )
    verb = "becomes" if sum(count for count, _ in fewer) == 1 else "become"
    single = len(fewer) == len(more) == 1
    now = _WORDS[more[0][1]] if single else _hows(more)
    at = f"position {change.position} ({transposed_name(change.tonic)})"
    return f"{at} {_hows(fewer)} {verb} {now}"


def _hows(counts: Sequence[tuple[int, How]]) -> str:
    return " and ".join(f"{count} {_WORDS[how]}" for count, how in counts)


def _tunes(changes: Sequence[TuneChange]) -> str:
    return "; ".join(f"{each.tune.title} ({each.by / _UNIT:+,.2f})" for each in changes)


def _plates(
    swaps: Sequence[Swap], plates: Sequence[tuple[Plates, Use]], currency: str
) -> Iterator[str]:
    for swap, (each, use) in zip(swaps, plates, strict=True):
        where = {"rack": "bin", "kit": "the kit's", "seat": "the plate taken out of"}[each.source]
        retuned = "" if use.way == "none" else f", {use.way} {use.retune_cents:+.1f} cents"
        cost = f", {use.cost:.2f} {currency}" if each.source == "rack" else ""
        yield f"{swap.text} from {where} {each.name}{retuned}{cost}"


def _proof(found: Round, *, stocked: bool) -> str:
    if not found.candidates:
        return f"There is no such set{' that the plates are there for' if stocked else ''}."
    sets = _counted(found.candidates, "set")
    if not is_proven(found):
        return f"Not proven: {found.bounded:,} of {sets} were looked at."
    if found.lowest_left is None:
        return f"Proof: {sets} in all, each worked out in full; none is cheaper than these."
    others = found.candidates - found.evaluated
    return (
        f"Proof: {sets} in all, and for each a bound that it cannot cost less than. By that "
        f"{found.evaluated:,} might be among these and were worked out in full; none of the other "
        f"{others:,} can cost less than {_cost(found.lowest_left)}."
    )


def _standing(found: Standing, tunes: int) -> str:
    return (
        f"{found.natural / tunes:.1%} of tunes with natural notes alone, "
        f"{found.bends_per_100:.2f} bends in 100 notes, {_counted(found.missing, 'note')} missing"
    )


def _beside(more: int, than: str) -> str:
    if not more:
        return f"the same as {than}"
    return f"{_cost(abs(more))} {'more' if more > 0 else 'less'} than {than}"


def _cost(hundredths: int) -> str:
    return f"{hundredths / _UNIT:,.2f}"


def _counted(number: int, noun: str) -> str:
    return f"{number:,} {noun}" + ("" if number == 1 else "s")


def _wrapped(text: str, indent: str = "") -> list[str]:
    return wrap(
        text, _WIDTH, initial_indent=indent, subsequent_indent=" " * len(indent) + "  ",
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
