"""A comparison of two instruments, as the document of `compare --json`."""

from typing import TYPE_CHECKING, Any, Final

from combwright.ear.equivalence import ALPHA
from combwright.ear.third_octaves import HIGHEST_BAND, LOWEST_BAND, middle_hz
from combwright.notes.names import note_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from combwright.comb.seats import Seat
    from combwright.ear.compared import Comparison, Difference, Mean, Note, Spectrum

SCHEMA: Final = 1
_DIGITS: Final = 4


def comparing_document(
    found: "Comparison[Seat]",
    files: "tuple[Sequence[str], Sequence[str]]",
    rate: int,
    remarks: "Iterable[str]",
) -> dict[str, Any]:
    """Return the document.

    Parameters
    ----------
    files : tuple of sequences of str
        The recordings of A and of B.
    rate : int
        At which both were compared.
    remarks : iterable of str
        What is to be kept in mind, in words.
    """
    margins = found.margins
    return {
        "schema": SCHEMA,
        "a": list(files[0]),
        "b": list(files[1]),
        "rate": rate,
        "margins": {
            "level_db": margins.level_db,
            "cents": margins.cents,
            "confidence": 1 - ALPHA,
        },
        "levels_matched": found.matched,
        "level_difference_db": _short(found.level_difference_db),
        "same": found.count("the same"),
        "different": found.count("different"),
        "cannot_tell": found.count("cannot tell"),
        "bands_hz": [round(middle_hz(band), 2) for band in range(LOWEST_BAND, HIGHEST_BAND + 1)],
        "notes": [_note(note, found) for note in found.notes],
        "whole": _whole(found),
        "only_a": [_place(seat) for seat in found.only_a],
        "only_b": [_place(seat) for seat in found.only_b],
        "neither": [_place(seat) for seat in found.neither],
        "remarks": list(remarks),
    }


def _note(note: "Note[Seat]", found: "Comparison[Seat]") -> dict[str, Any]:
    margins = found.margins
    return {
        **_place(note.seat),
        "note": note_name(note.seat.midi),
        "repeats": {"a": note.repeats[0], "b": note.repeats[1]},
        "scatter": note.scatter,
        "verdict": note.verdict,
        "why": note.why,
        "level": _difference(note.level, "a_lkfs", "db", margins.level_db),
        "pitch": _difference(note.pitch, "a_cents", "cents", margins.cents),
        "attack": _difference(note.attack, "a_ms", "ms"),
        "steadiness": _difference(note.steadiness, "a_cents", "cents"),
        "bands": None if note.spectrum is None else _bands(note.spectrum),
    }


def _difference(
    found: "Difference", a_key: str, unit: str, margin: float | None = None
) -> dict[str, Any]:
    low, high = (None, None) if found.estimate is None else found.estimate.interval()
    document = {
        a_key: _short(found.a),
        a_key.replace("a_", "b_", 1): _short(found.b),
        f"difference_{unit}": _short(found.difference),
        f"low_{unit}": _short(low),
        f"high_{unit}": _short(high),
    }
    if margin is None:
        return document
    estimate = found.estimate
    return {
        **document,
        "p": None if estimate is None else round(estimate.p_within(margin), 6),
        "verdict": "cannot tell" if estimate is None else estimate.verdict(margin),
    }


def _bands(spectrum: "Spectrum") -> dict[str, Any]:
    rows = {"a_db": spectrum.a, "b_db": spectrum.b, "difference_db": spectrum.b - spectrum.a}
    return {
        **{
            name: [None if value != value else _short(float(value)) for value in values]
            for name, values in rows.items()
        },
        "rms_db": _short(spectrum.rms_db),
    }


def _whole(found: "Comparison[Seat]") -> dict[str, Any]:
    return {
        "level_db": _mean(found.mean(lambda note: note.level.difference)),
        "pitch_cents": _mean(found.mean(lambda note: note.pitch.difference)),
        "attack_ms": _mean(found.mean(lambda note: note.attack.difference)),
        "steadiness_cents": _mean(found.mean(lambda note: note.steadiness.difference)),
        "bands_rms_db": _mean(
            found.mean(lambda note: None if note.spectrum is None else note.spectrum.rms_db)
        ),
        "bands_db": [_short(value) for value in found.band_means_db()],
    }


def _mean(found: "Mean | None") -> dict[str, float | None] | None:
    if found is None:
        return None
    return {"mean": _short(found.mean), "low": _short(found.low), "high": _short(found.high)}


def _place(seat: "Seat") -> dict[str, object]:
    return {"hole": seat.hole, "deck": seat.deck, "breath": seat.breath}


def _short(value: float | None) -> float | None:
    return None if value is None else round(value, _DIGITS)
