"""Aims of an instrument that stands in no register: one to repair, or one's own."""

import math
from collections.abc import Mapping
from typing import Any, Final

from combwright.comb.changes import apply_changes, parse_changes
from combwright.notes.keys import parse_key
from combwright.notes.pitch import check_a4
from combwright.notes.temperament import named_temperament
from combwright.shop.designs import queries as designs
from combwright.shop.tuning.aims import Aim

_A4_HZ: Final = 440.0
_SEMITONE_MC, _CENT_MC = 100_000, 1000


def free_aims(wish: Mapping[str, Any]) -> list[Aim]:
    """List what the reeds aim at by `key`, `layout`, `changes`, `temperament` and `a4`.

    Raises
    ------
    CombwrightError
        If one of them cannot be read; its text says which.
    """
    key = parse_key(wish["key"])
    layout = designs.layout(wish["layout"].strip()).in_key(key)
    tempered = named_temperament(wish["temperament"].strip())
    standard = 1200 * math.log2(check_a4(wish["a4"]) / _A4_HZ)
    seats = sorted(
        apply_changes(layout, parse_changes(wish["changes"])).seats,
        key=lambda seat: (seat.hole, seat.breath != "blow", seat.deck != "upper"),
    )
    return [
        Aim(
            f"{seat.hole} {seat.deck} {seat.breath}", f"{seat.hole} {seat.breath}", seat.midi,
            seat.midi * _SEMITONE_MC + round(
                _CENT_MC * (
                    standard + seat.cents
                    + tempered.offset(seat.midi, key.pitch_class, seat.hole, seat.breath)
                )
            ),
            0,
        )
        for seat in seats
    ]  # fmt: skip
