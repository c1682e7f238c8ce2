"""Lengths as note values, and tunes in bars: nothing lost, everything such as can be written."""

import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from combwright.sheets.note_values import can_be_written, runs, values
from combwright.sheets.written_bars import written_tune
from combwright.tunes.tune import WHOLE, Tune, TuneNote


def tune_of(lengths, *, bars=(), gaps=None, start=0):
    """Return a tune of lengths in whole notes, with rests before notes where gaps are given."""
    notes, now = [], round(start * WHOLE)
    for n, length in enumerate(lengths):
        now += round((gaps or {}).get(n, 0) * WHOLE)
        notes.append(TuneNote(60 + n % 12, now, round(length * WHOLE)))
        now += notes[-1].length
    return Tune("Made up", tuple(notes), "nowhere", bars=tuple(round(b * WHOLE) for b in bars))


@pytest.mark.parametrize(
    ("length", "parts"),
    [
        ("1/4", [("1/4", 0)]), ("3/8", [("1/4", 1)]), ("7/8", [("1/2", 2)]),
        ("5/8", [("1/2", 0), ("1/8", 0)]), ("4", [("2", 0), ("2", 0)]), ("3", [("2", 1)]),
        ("9/8", [("1", 0), ("1/8", 0)]), ("1/128", [("1/128", 0)]),
    ],
)  # fmt: skip
def test_a_length_is_parted_into_plain_and_dotted_values(length, parts):
    assert [(str(v.base), v.dots) for v in values(Fraction(length))] == parts


@given(st.integers(1, 2000))
def test_values_add_up_to_their_length(count):
    length = Fraction(count, 128)
    assert sum(value.length for value in values(length)) == length


def test_what_is_no_value_is_refused():
    with pytest.raises(ValueError, match="1/3 of a whole note is no note value"):
        values(Fraction(1, 3))


def test_tuplets_begin_and_end_where_halves_do():
    third, fifth = WHOLE // 12, WHOLE // 20
    lengths = [WHOLE // 4, third, third, third, *[fifth] * 5, 2 * third, third]
    starts = [sum(lengths[:n]) for n in range(len(lengths))]
    found = runs(list(zip(starts, lengths, strict=True)))
    assert [(r.last - r.first, r.many, r.usual) for r in found] == [
        (1, 1, 1), (3, 3, 2), (5, 5, 4), (2, 3, 2),
    ]  # fmt: skip


def test_a_long_note_tied_into_a_tuplet_is_cut_on_the_beat():
    third = Fraction(1, 12)
    (bar,) = written_tune(tune_of([Fraction(1, 4) + third, third, third]), WHOLE).bars
    first, *rest = [(p.note, p.length / WHOLE, p.first, p.last) for p in bar.pieces]
    assert first == (0, 0.25, True, False)
    assert [(note, head, end) for note, _, head, end in rest[:1]] == [(0, False, True)]


def test_notes_are_cut_at_bar_lines_and_rests_fill_the_gaps():
    found = written_tune(tune_of([1, Fraction(1, 2)], bars=(Fraction(3, 4), Fraction(3, 2),
                                 Fraction(9, 4)), gaps={1: Fraction(1, 4)}), 0)  # fmt: skip
    bars = [[(p.note, 4 * p.length / WHOLE) for p in bar.pieces] for bar in found.bars]
    assert bars == [[(0, 3)], [(0, 1), (None, 1), (1, 1)], [(1, 1), (None, 2)]]
    assert not found.rounded


def test_bars_follow_the_metre_where_no_lines_are_known_and_are_open_where_nothing_is():
    lengths = [Fraction(1, 4)] * 10
    assert [bar.length for bar in written_tune(tune_of(lengths), 3 * WHOLE // 4).bars] == [
        3 * WHOLE // 4
    ] * 4
    unknown = written_tune(tune_of([1] * 5), 0).bars
    assert [(bar.length // WHOLE, bar.line) for bar in unknown] == [(1, False)] * 3 + [(2, False)]


def test_notes_that_end_early_as_on_a_keyboard_are_written_up_to_the_next():
    lengths = [Fraction(9, 40)] * 4
    early = tune_of(lengths, gaps={n: Fraction(1, 40) for n in range(1, 4)})
    found = written_tune(early, WHOLE)
    assert [p.length * 4 / WHOLE for bar in found.bars for p in bar.pieces] == [1, 1, 1, 1]
    assert found.rounded


def random_lengths(rng):
    usual = [Fraction(1, n) for n in (1, 2, 4, 8, 16, 3, 6, 12, 24, 5, 20, 28)]
    odd = [Fraction(rng.randint(1, 3000), rng.randint(1, 3000)) for _ in range(3)]
    return [rng.choice(usual if rng.random() < 0.9 else odd) for _ in range(rng.randint(1, 30))]


@given(st.integers(0, 10**9))
def test_every_tune_can_be_written_and_nothing_is_lost(seed):
    rng = random.Random(seed)
    lengths = random_lengths(rng)
    bars = sorted({Fraction(rng.randint(1, 80), rng.choice([8, 8, 8, 7])) for _ in range(9)})
    gaps = {rng.randrange(len(lengths)): Fraction(1, rng.choice([4, 8, 12, 7, 1000]))}
    tune = tune_of(lengths, bars=bars if rng.random() < 0.7 else (), gaps=gaps)
    found = written_tune(tune, rng.choice([0, WHOLE, 3 * WHOLE // 8, WHOLE // 7]))
    assert all(can_be_written([(p.start, p.length) for p in b.pieces]) for b in found.bars)
    for bar in found.bars:
        assert sum(piece.length for piece in bar.pieces) == bar.length
    pieces = [piece for bar in found.bars for piece in bar.pieces if piece.note is not None]
    assert [p.note for p in pieces if p.first] == list(range(len(lengths)))
    assert [p.note for p in pieces if p.last] == list(range(len(lengths)))
    if not found.rounded:
        for n, note in enumerate(tune.notes):
            assert sum(p.length for p in pieces if p.note == n) == note.length
