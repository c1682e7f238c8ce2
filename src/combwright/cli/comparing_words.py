"""A comparison of two instruments in words: what is the same, and what that rests on."""

from collections.abc import Iterator
from typing import Final

from combwright.comb.seats import Seat
from combwright.ear.compared import Comparison, Difference, Mean, Note
from combwright.notes.names import note_name
from combwright.sheets.compared import summary

_ORDER: Final = {"different": 0, "cannot tell": 1, "the same": 2}


def comparing_lines(found: Comparison[Seat]) -> Iterator[str]:
    """Write the verdict, what it rests on, and the notes, those that differ first."""
    counts = [f"{found.count(word)} {word}" for word in ("different", "cannot tell")]
    yield f"{summary(found)} ({', '.join(counts)})."
    yield from remarks(found)
    yield from _whole(found)
    for note in sorted(found.notes, key=lambda note: _ORDER[note.verdict]):
        yield _line(note)


def remarks(found: Comparison[Seat]) -> Iterator[str]:
    """Say what the verdicts rest on, and which notes are missing."""
    shift = found.level_difference_db
    if shift is not None:
        how = "louder" if shift >= 0 else "quieter"
        done = "levels are compared as recorded; --match-levels takes it out"
        if found.matched:
            done = "that is taken out of every level"
        yield f"B is {abs(shift):.2f} dB {how} on the whole: {done}."
    once = sum(note.scatter == "notes" for note in found.notes)
    if once:
        yield (
            f"{once} of {len(found.notes)} notes were played once only in A or in B: how far "
            "breaths stray is taken from the scatter over the notes. A take played harder "
            "throughout is then not told from a louder instrument."
        )
    for where, seats in (
        ("A only", found.only_a),
        ("B only", found.only_b),
        ("neither", found.neither),
    ):
        if seats:
            yield f"Heard in {where}: {', '.join(f'{s.hole} {s.breath}' for s in seats)}."


def _whole(found: Comparison[Seat]) -> Iterator[str]:
    means = (
        ("pitch", found.mean(lambda note: note.pitch.difference), "cents"),
        ("attack", found.mean(lambda note: note.attack.difference), "ms"),
        ("steadiness", found.mean(lambda note: note.steadiness.difference), "cents"),
    )
    parts = [f"{name} {_between(mean)} {unit}" for name, mean, unit in means if mean is not None]
    if parts:
        yield f"B over A on the whole: {', '.join(parts)}."


def _between(mean: Mean) -> str:
    if mean.low is None or mean.high is None:
        return _signed(mean.mean, 2)
    low, high = (_signed(each, 2) for each in (mean.low, mean.high))
    return f"{_signed(mean.mean, 2)} ({low} to {high})"


def _line(note: Note[Seat]) -> str:
    rms = None if note.spectrum is None else note.spectrum.rms_db
    seat = f"{note.seat.hole:>2} {note.seat.breath:<4} {note_name(note.seat.midi):<4}"
    parts = [
        f"{seat}{note.verdict:<11}",
        f"level {_figure(note.level, 2)} dB",
        f"pitch {_figure(note.pitch, 2)} cents",
        f"spectrum {'-' if rms is None else f'{rms:.2f}':>5} dB",
        f"attack {_figure(note.attack, 1)} ms",
        f"steadiness {_figure(note.steadiness, 2)} cents",
    ]
    return "  ".join(parts) + (f"  ({note.why})" if note.why else "")


def _figure(found: Difference, digits: int) -> str:
    value = found.difference
    return f"{'-' if value is None else _signed(value, digits):>6}"


def _signed(value: float, digits: int) -> str:
    text = f"{value:+.{digits}f}"
    return text.replace("-", "+") if float(text) == 0 else text
