"""Two takes compared: quickly by their kept readings, and wholly by their sound.

A seat is compared where both hold the same note in it. Pitch is each reed's cents from its own
target, reckoned with the clocks of two different microphones; the clock of one and the same leaves
no difference.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, cast

from combwright.comb.seats import Breath, Deck, Seat
from combwright.ear.compared import Comparison, Difference, Note
from combwright.ear.comparing import compare
from combwright.ear.measures import Measured, measure_take
from combwright.ear.rates import at_rate
from combwright.ear.sound import Sound
from combwright.ear.takes import Target
from combwright.errors import CombwrightError
from combwright.files.recordings import unpack
from combwright.notes.names import note_name
from combwright.sheets.compared import comparison_svg
from combwright.shop.register.models import Heard, Take
from combwright.shop.tuning.aims import aims
from combwright.shop.tuning.clocks import clock_of
from combwright.shop.tuning.take_order import targets
from combwright.shop.tuning.take_shown import in_order, labels_of

_WIDE: Final = 1.96


class OtherNotes(CombwrightError):
    """Two instruments without a seat that holds the same note in both."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A seat of two takes by their readings; None where one has none, or another note."""

    label: str
    a: Heard | None
    b: Heard | None

    @property
    def difference(self) -> float | None:
        """By how many cents B lies higher over its target than A."""
        return None if self.a is None or self.b is None else self.b.cents - self.a.cents

    @property
    def half(self) -> float:
        """Half of the width in which the difference lies with 95 % certainty."""
        if self.a is None or self.b is None:
            return 0.0
        return _WIDE * math.hypot(self.a.sd_cents, self.b.sd_cents)

    @property
    def sure(self) -> bool:
        """Whether it is more than what is unsure."""
        return self.difference is not None and abs(self.difference) > self.half

    @property
    def same_note(self) -> bool:
        """Whether both are to sound the same note."""
        return self.a is None or self.b is None or self.a.midi == self.b.midi


def beside(a: Sequence[Heard], b: Sequence[Heard]) -> list[Beside]:
    """Put the readings of two takes beside each other, in the order of the comb."""
    sides = [{each.place: each for each in side} for side in (a, b)]
    places = sorted(sides[0].keys() | sides[1].keys(), key=in_order)
    labels = labels_of(places)
    return [Beside(labels[p], sides[0].get(p), sides[1].get(p)) for p in places]


def compare_takes(a: Take, b: Take, *, matched: bool) -> dict[str, Any]:
    """Compare the sound of two takes, as a document that is kept.

    Parameters
    ----------
    a, b : Take
        With instrument, microphone and recording loaded.
    matched : bool
        Whether the usual difference of level is taken out.

    Raises
    ------
    CombwrightError
        If they have too little in common.
    """
    orders = _orders(a, b)
    sounds = [unpack(bytes(take.recording.data)) for take in (a, b)]
    rate = min(sound.rate for sound in sounds)
    measured = [
        _measured(take, at_rate(sound, rate), order, a.microphone_id == b.microphone_id)
        for take, sound, order in zip((a, b), sounds, orders, strict=True)
    ]
    seats = sorted({t.seat for order in orders for t in order},
                   key=lambda seat: (seat.hole, seat.breath != "blow", seat.deck))  # fmt: skip
    found = compare(measured[0], measured[1], seats, match_levels=matched)
    return _document(found, (f"take {a.pk}", f"take {b.pk}"))


def _orders(a: Take, b: Take) -> list[list[Target[Seat]]]:
    """Return the targets of both by seat; seats with different notes are those of neither."""
    orders = [
        [Target(_seat(t.seat.place, t.seat.midi), t.hz) for t in
         targets(aims(take.instrument), take.played)]
        for take in (a, b)
    ]  # fmt: skip
    shared = {t.seat for t in orders[0]} & {t.seat for t in orders[1]}
    if not shared:
        raise OtherNotes("No seat holds the same note in both; these two cannot be compared.")
    return orders


def _seat(place: str, midi: int) -> Seat:
    hole, deck, breath = place.split()
    return Seat(int(hole), cast("Deck", deck), cast("Breath", breath), midi)


def _measured(
    take: Take, sound: Sound, order: Sequence[Target[Seat]], one_clock: bool
) -> Measured[Seat]:
    found = measure_take(sound, order)
    if one_clock:
        return found
    clock = clock_of(take.microphone)
    return Measured(
        {
            seat: tuple(
                replace(
                    once,
                    cents=once.cents + clock.cents,
                    sd_cents=math.hypot(once.sd_cents, clock.sd_cents),
                )
                for once in played
            )
            for seat, played in found.played.items()
        }
    )


def _document(found: Comparison[Seat], names: tuple[str, str]) -> dict[str, Any]:
    return {
        "same": found.count("the same"),
        "all": len(found.notes),
        "level_db": found.margins.level_db,
        "cents": found.margins.cents,
        "usual_db": found.level_difference_db,
        "quieter_db": -(found.level_difference_db or 0.0),
        "once": sum(note.scatter == "notes" for note in found.notes),
        "notes": [_note(note) for note in found.notes],
        "only": [[_label(seat) for seat in side] for side in (found.only_a, found.only_b)],
        "neither": [_label(seat) for seat in found.neither],
        "svg": comparison_svg(found, names),
    }


def _note(note: Note[Seat]) -> Mapping[str, Any]:
    spectrum = None if note.spectrum is None else note.spectrum.rms_db
    return {
        "label": _label(note.seat),
        "note": note_name(note.seat.midi),
        "verdict": note.verdict,
        "why": note.why,
        "level": _difference(note.level),
        "pitch": _difference(note.pitch),
        "attack": note.attack.difference,
        "steadiness": note.steadiness.difference,
        "spectrum": spectrum,
    }


def _difference(found: Difference) -> Mapping[str, float | None]:
    low, high = (None, None) if found.estimate is None else found.estimate.interval()
    return {"is": found.difference, "low": low, "high": high}


def _label(seat: Seat) -> str:
    return f"{seat.hole} {seat.breath}"
