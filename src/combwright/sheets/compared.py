"""Two instruments compared, as a picture: a row for each note, and the spectra below.

A row shows how far level and pitch of B lie from A, as the interval within which the difference
lies, over the band of the margins. What a note's mark and word say, its colour only repeats.
"""

from collections.abc import Callable, Iterator
from typing import Final

from combwright.comb.seats import Seat
from combwright.ear.compared import Comparison, Difference, Note
from combwright.notes.names import note_name
from combwright.sheets.band_bars import band_bars
from combwright.sheets.figures import signed
from combwright.sheets.intervals import COLOURS, HEAD, Panel, interval, panel_ground, verdict_mark
from combwright.sheets.look import INK, PAPER, QUIET
from combwright.sheets.svg import Value, element, label, picture, rectangle

WIDTH: Final = 1000.0
_TOP, _ROW, _BANDS, _FOOT = 118.0, 25.0, 250.0, 20.0
_PANELS: Final = ((262.0, 280.0), (592.0, 280.0))
_LEFT: Final[dict[str, Value]] = {"text-anchor": "start", "font-size": 15.0, "fill": INK}
_LONGEST_NAME: Final = 40


def comparison_svg(found: Comparison[Seat], names: tuple[str, str]) -> str:
    """Draw a comparison.

    Parameters
    ----------
    found : Comparison of Seat
        At least one note.
    names : tuple of str
        What A and B are called.

    Returns
    -------
    str
        An SVG document with its title and a description in words.
    """
    bottom = _TOP + _ROW * len(found.notes)
    height = bottom + 50 + _BANDS + _FOOT
    margins = found.margins
    level = Panel(*_PANELS[0], margins.level_db, _reach(found, margins.level_db, _level), "dB")
    pitch = Panel(*_PANELS[1], margins.cents, _reach(found, margins.cents, _pitch), "cents")
    parts = [rectangle(0, 0, WIDTH, height, {"fill": PAPER}), *_heading(found, names)]
    for panel, head in ((level, "Level"), (pitch, "Pitch")):
        parts.append(panel_ground(panel, head, _TOP, bottom))
    parts.append(label(930, _TOP - 28, "Spectrum, dB", HEAD))
    for row, note in enumerate(found.notes):
        parts.append(_row(note, _TOP + _ROW * (row + 0.5), level, pitch))
    key = "Each line is where the difference lies, 90 %; the band between the dashes is the margin."
    parts.append(label(24, bottom + 24, key, {**_LEFT, "font-size": 13.5, "fill": QUIET}))
    parts.append(band_bars(found.band_means_db(), 100, bottom + 50, WIDTH - 140, _BANDS))
    return picture(summary(found), _about(found, names), (WIDTH, height), parts)


def summary(found: Comparison[Seat]) -> str:
    """Say in one line how many notes are the same, and within what."""
    margins = found.margins
    return (
        f"The same within {margins.level_db:g} dB and {margins.cents:g} cents at 95 %: "
        f"{found.count('the same')} of {len(found.notes)} notes"
    )


def _heading(found: Comparison[Seat], names: tuple[str, str]) -> Iterator[str]:
    yield label(24, 34, summary(found), {**_LEFT, "font-size": 22.0, "font-weight": 600})
    how = "levels as recorded"
    if found.matched and found.level_difference_db is not None:
        how = f"levels matched: {signed(found.level_difference_db)} dB taken out"
    a, b = (n if len(n) <= _LONGEST_NAME else f"{n[: _LONGEST_NAME - 3]}..." for n in names)
    yield label(24, 60, f"A: {a}, B: {b}; {how}", {**_LEFT, "fill": QUIET})


def _level(note: Note[Seat]) -> Difference:
    return note.level


def _pitch(note: Note[Seat]) -> Difference:
    return note.pitch


def _reach(
    found: Comparison[Seat], margin: float, what: Callable[[Note[Seat]], Difference]
) -> float:
    """Return how far a panel reaches: all that is drawn, but two to four margins."""
    ends = [2 * margin]
    for note in found.notes:
        one = what(note)
        if one.estimate is not None:
            ends += [1.1 * abs(end) for end in one.estimate.interval()]
        elif one.difference is not None:
            ends.append(1.1 * abs(one.difference))
    return min(max(ends), 4 * margin)


def _row(note: Note[Seat], y: float, level: Panel, pitch: Panel) -> str:
    seat = note.seat
    parts = [
        label(24, y + 5, f"{seat.hole} {seat.breath}", _LEFT),
        label(98, y + 5, note_name(seat.midi), _LEFT),
        verdict_mark(150, y, note.verdict),
        label(164, y + 5, note.verdict, {**_LEFT, "fill": COLOURS[note.verdict]}),
        interval(level, y, note.level),
        interval(pitch, y, note.pitch),
    ]
    rms = None if note.spectrum is None else note.spectrum.rms_db
    text = "" if rms is None else f"{rms:.1f}"
    parts.append(label(930, y + 5, text, {"font-size": 14.0, "fill": INK}))
    return element("g", {"class": f"note {note.verdict.replace(' ', '-')}"}, *parts)


def _about(found: Comparison[Seat], names: tuple[str, str]) -> str:
    lines = [f"B, {names[1]}, against A, {names[0]}."]
    for note in found.notes:
        level, pitch = note.level.difference, note.pitch.difference
        told = [f"Hole {note.seat.hole} {note.seat.breath}: {note.verdict}"]
        if level is not None:
            told.append(f"level {signed(level)} dB")
        if pitch is not None:
            told.append(f"pitch {signed(pitch)} cents")
        lines.append(", ".join(told) + ".")
    return " ".join(lines)
