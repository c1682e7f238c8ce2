"""What swaps answers, as a document."""

from collections.abc import Sequence
from typing import Any, Final

from combwright.comb.difference import NoteChange
from combwright.notes.keys import transposed_name
from combwright.notes.names import note_name
from combwright.playing.documents import SCHEMA
from combwright.playing.effects import ChordChange, Effect, ScaleChange, TuneChange
from combwright.playing.supply import Plates, Use
from combwright.playing.swap_answer import SwapAnswer, Told, is_proven
from combwright.playing.swap_sets import Swap
from combwright.playing.swapping import Round

_UNIT: Final = 100


def swaps_document(answer: SwapAnswer) -> dict[str, Any]:
    """Return the document of `swaps --json`; the counts at its top are those of the last round."""
    last = answer.rounds[-1]
    return {
        "schema": SCHEMA,
        "candidates": last.candidates,
        "bounded": last.bounded,
        "evaluated": last.evaluated,
        "proven": answer.proven,
        "best": [_set(each) for each in answer.best()],
        "base": _set(answer.base),
        "rounds": [_round(answer, each) for each in answer.rounds],
    }


def _round(answer: SwapAnswer, found: Round) -> dict[str, Any]:
    left = found.lowest_left
    return {
        "swaps": found.size,
        "candidates": found.candidates,
        "bounded": found.bounded,
        "bounds": found.bounds,
        "evaluated": found.evaluated,
        "proven": is_proven(found),
        "lowest_bound_left": None if left is None else left / _UNIT,
        "best": [_set(each) for each in answer.of(found)],
    }


def _set(told: Told) -> dict[str, Any]:
    return {
        "changes": [swap.text for swap in told.found.swaps],
        "cost": told.found.cost / _UNIT,
        "bends_per_100": round(told.standing.bends_per_100, 4),
        "natural": told.standing.natural,
        "missing": told.standing.missing,
        "plates": None if told.plates is None else _plates(told.found.swaps, told.plates),
        "elsewhere": _effect(told.effect),
    }


def _plates(swaps: Sequence[Swap], plates: Sequence[tuple[Plates, Use]]) -> list[dict[str, Any]]:
    return [
        {
            "change": swap.text,
            "from": each.source,
            "plate": each.name,
            "retune_cents": round(use.retune_cents, 3),
            "way": use.way,
            "cost": round(float(use.cost), 6),
        }
        for swap, (each, use) in zip(swaps, plates, strict=True)
    ]


def _effect(found: Effect) -> dict[str, Any]:
    return {
        "lost": [_note(each) for each in found.lost],
        "gained": [_note(each, came=True) for each in found.gained],
        "chords": [_chord(each) for each in found.chords],
        "splits": [_chord(each) for each in found.splits],
        "scales": [_scale(each) for each in found.scales],
        "easier": found.easier,
        "harder": found.harder,
        "same": found.same,
        "worst": [_tune(each) for each in found.worst],
        "helped": [_tune(each) for each in found.best],
    }


def _note(change: NoteChange, *, came: bool = False) -> dict[str, Any]:
    was, now = (change.otherwise, change.how) if came else (change.how, change.otherwise)
    return {"note": note_name(change.midi), "was": was, "now": now}


def _chord(change: ChordChange) -> dict[str, Any]:
    return {
        "breath": change.breath, "holes": list(change.holes), "was": change.was, "now": change.now,
    }  # fmt: skip


def _scale(change: ScaleChange) -> dict[str, Any]:
    return {
        "position": change.position,
        "tonic": transposed_name(change.tonic),
        "was": dict(change.was),
        "now": dict(change.now),
    }


def _tune(change: TuneChange) -> dict[str, Any]:
    return {"title": change.tune.title, "source": change.tune.source, "by": change.by / _UNIT}
