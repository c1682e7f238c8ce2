"""Tunes as plain values that JSON can hold, and back."""

from dataclasses import fields
from typing import Any

from combwright.tunes.tune import Tune, TuneNote


def to_plain(tune: Tune) -> dict[str, Any]:
    """Return a tune as numbers, texts and lists; its notes as (midi, start, length) in grains."""
    plain = {each.name: getattr(tune, each.name) for each in fields(tune)}
    notes = [[note.midi, note.start, note.length] for note in tune.notes]
    return {**plain, "notes": notes, "remarks": list(tune.remarks), "bars": list(tune.bars)}


def from_plain(plain: dict[str, Any]) -> Tune:
    """Return the tune that `to_plain` was given; what an older version left out is as usual."""
    known = {each.name for each in fields(Tune)}
    kept = {name: value for name, value in plain.items() if name in known}
    notes = tuple(TuneNote(*note) for note in plain["notes"])
    lists = {name: tuple(plain.get(name, ())) for name in ("remarks", "bars")}
    return Tune(**{**kept, **lists, "notes": notes})
