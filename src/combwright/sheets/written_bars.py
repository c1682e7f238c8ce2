"""A tune as it is written: parted into bars, its notes cut at bar lines, rests between them.

Times are in grains. A note that ends where no plain or triplet value ends, as those of a keyboard
do, is written up to the next note. A tune that still cannot be written is moved onto a grid of
short values, and that is said.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from combwright.sheets.note_values import can_be_written, runs
from combwright.tunes.tune import WHOLE, Tune, TuneNote

_NEAR: Final = WHOLE // 8
#: Grids for times that cannot be written, the coarsest first on which no two notes fall together.
_GRIDS: Final = (WHOLE // 32, WHOLE // 64, WHOLE // 128)
_GAP: Final = WHOLE // 16
_BEAT: Final = WHOLE // 4
#: A bar without an end, as where no bar lines are known, is parted so that lines can be broken.
_LONGEST: Final = 2 * WHOLE


@dataclass(frozen=True, slots=True)
class Piece:
    """A note or rest, or what of a note lies in one bar.

    Parameters
    ----------
    note : int or None
        Which note of the tune; None for a rest.
    start, length : int
        Grains, from the beginning of the bar.
    first, last : bool
        Whether the note begins and ends with this piece; between pieces there are ties.
    """

    note: int | None
    start: int
    length: int
    first: bool = True
    last: bool = True

    def cut(self, at: int) -> tuple["Piece", "Piece"]:
        """Part it at a time within it."""
        done = at - self.start
        return (
            replace(self, length=done, last=self.note is None),
            replace(self, start=at, length=self.length - done, first=self.note is None),
        )


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar.

    Parameters
    ----------
    length : int
        In grains.
    pieces : tuple of Piece
        They fill it.
    line : bool
        Whether a bar line is drawn at its end.
    """

    length: int
    pieces: tuple[Piece, ...]
    line: bool


@dataclass(frozen=True, slots=True)
class WrittenTune:
    """All bars of a tune, and whether times had to be rounded."""

    bars: tuple[Bar, ...]
    rounded: bool


def written_tune(tune: Tune, metre: int) -> WrittenTune:
    """Return a tune in bars.

    Parameters
    ----------
    tune : Tune
        At least one note.
    metre : int
        Grains of a bar, used where the tune tells no bar lines; 0 where nothing tells.
    """
    notes = _ended(tune.notes, tune.bars)
    ends = _bar_ends(tune.bars, metre, notes[-1].start + notes[-1].length)
    notes = _joined(notes, ends)
    bars = _bars(notes, ends)
    if all(can_be_written([(p.start, p.length) for p in bar.pieces]) for bar in bars):
        return WrittenTune(bars, rounded=notes != tune.notes)
    grid = _grid(tune.notes)
    notes = _on_grid(tune.notes, grid)
    last = notes[-1].start + notes[-1].length
    lines = sorted({_round(at, grid) for at in tune.bars} - {0})
    metre = metre if metre % grid == 0 else 0
    return WrittenTune(_bars(notes, _bar_ends(lines, metre, last)), rounded=True)


def _bar_ends(bars: Sequence[int], metre: int, last: int) -> list[tuple[int, bool]]:
    """Return where bars end and whether with a line, up to the first end at or after `last`."""
    known = [(at, True) for at in bars] or [(at, True) for at in _every(metre, last)]
    ends: list[tuple[int, bool]] = []
    before = 0
    for at, line in [*known, (last, False)]:
        if before >= last or at <= before:
            break
        while at - before > _LONGEST and at - before > metre:
            before += metre or WHOLE
            ends.append((before, False))
        ends.append((at, line))
        before = at
    return ends


def _every(step: int, last: int) -> range:
    return range(step, last + step, step) if step else range(0)


def _ended(notes: Sequence[TuneNote], bars: Sequence[int]) -> tuple[TuneNote, ...]:
    """Let a last note that ends off all usual places end on the nearest sixteenth."""
    last = notes[-1]
    bar = max((at for at in bars if at <= last.start), default=0)
    end = last.start + last.length - bar
    if _is_usual(end) or not _is_usual(last.start - bar):
        return tuple(notes)
    length = max(_round(end, WHOLE // 16) + bar - last.start, WHOLE // 32)
    return (*notes[:-1], last._replace(length=length))


def _joined(notes: Sequence[TuneNote], ends: Sequence[tuple[int, bool]]) -> tuple[TuneNote, ...]:
    """Write notes up to the next one where they end off all usual places, shortly before it."""
    starts = [0, *(at for at, _ in ends)]

    def usual(at: int) -> bool:
        return _is_usual(at - starts[bisect_right(starts, at) - 1])

    found = []
    for note, after in pairwise(notes):
        end = note.start + note.length
        near = after.start - end < _NEAR and usual(after.start) and not usual(end)
        found.append(note._replace(length=after.start - note.start) if near else note)
    return (*found, notes[-1])


def _is_usual(at: int) -> bool:
    return at % (WHOLE // 128) == 0 or at % (WHOLE // 192) == 0


def _grid(notes: Sequence[TuneNote]) -> int:
    for grid in _GRIDS:
        if len({_round(note.start, grid) for note in notes}) == len(notes):
            return grid
    return _GRIDS[-1]


def _round(at: int, grid: int) -> int:
    return (2 * at + grid) // (2 * grid) * grid


def _on_grid(notes: Sequence[TuneNote], grid: int) -> tuple[TuneNote, ...]:
    starts: list[int] = []
    for note in notes:
        soonest = starts[-1] + grid if starts else 0
        starts.append(max(_round(note.start, grid), soonest))
    found = []
    for n, note in enumerate(notes):
        end = max(_round(note.start + note.length, grid), starts[n] + grid)
        if n + 1 < len(notes) and (end > starts[n + 1] or starts[n + 1] - end < _GAP):
            end = starts[n + 1]
        found.append(TuneNote(note.midi, starts[n], end - starts[n]))
    return tuple(found)


def _bars(notes: Sequence[TuneNote], ends: Sequence[tuple[int, bool]]) -> tuple[Bar, ...]:
    pieces = list(_pieces(notes, ends[-1][0]))[::-1]
    bars = []
    start = 0
    for end, line in ends:
        inside: list[Piece] = []
        while pieces and pieces[-1].start < end:
            piece = pieces.pop()
            if piece.start + piece.length > end:
                piece, rest = piece.cut(end)
                pieces.append(rest)
            inside.append(replace(piece, start=piece.start - start))
        bars.append(Bar(end - start, tuple(_eased(inside)), line))
        start = end
    return tuple(bars)


def _eased(pieces: Sequence[Piece]) -> Iterator[Piece]:
    """Cut long notes at the ends of a tuplet on a beat, so that the tuplet holds like values."""
    for run in runs([(piece.start, piece.length) for piece in pieces]):
        inside = list(pieces[run.first : run.last])
        lengths = [piece.length for piece in inside]
        if run.many > 1 and max(lengths) > 2 * min(lengths):
            inside[:1] = _cut_at(inside[0], (inside[0].start + inside[0].length) // _BEAT * _BEAT)
            inside[-1:] = _cut_at(inside[-1], -(-inside[-1].start // _BEAT) * _BEAT)
        yield from inside


def _cut_at(piece: Piece, at: int) -> tuple[Piece, ...]:
    return piece.cut(at) if piece.start < at < piece.start + piece.length else (piece,)


def _pieces(notes: Sequence[TuneNote], end: int) -> Iterator[Piece]:
    now = 0
    for n, note in enumerate(notes):
        if note.start > now:
            yield Piece(None, now, note.start - now)
        yield Piece(n, note.start, note.length)
        now = note.start + note.length
    if now < end:
        yield Piece(None, now, end - now)
