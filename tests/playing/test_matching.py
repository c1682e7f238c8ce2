"""Match: what is counted is what is played, and a ranking is what brute force gives."""

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import numpy as np
import pytest

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.reach import sounds
from combwright.notes.keys import parse_key
from combwright.playing import matching
from combwright.playing.costs import preset
from combwright.playing.fitting import fit_layout
from combwright.playing.lines import line_of
from combwright.playing.matching import Candidate, match, rank
from combwright.playing.programme import play
from combwright.playing.repertoire import lowest_reed, repertoire_of
from combwright.playing.tallies import tally
from combwright.tunes.tune import WHOLE, Tune, TuneNote
from playing.lines import random_costs, random_layout, random_line, seeded

COSTS = preset("intermediate")
NAMES = ("standard", "third-blow-raised", "circular", "natural-minor")


def tune_of(pitches, title="Made up"):
    notes = (TuneNote(midi, n * WHOLE // 8, WHOLE // 8) for n, midi in enumerate(pitches))
    return Tune(title, tuple(notes), "nowhere")


def random_tunes(seed, count=12):
    rng = seeded(seed)
    scale = (0, 2, 4, 5, 7, 9, 11, 12, 14, 16, 17, 19, 6, 10)
    tunes = []
    for n in range(count):
        low = rng.randint(50, 84)
        pitches = [low + rng.choice(scale) for _ in range(rng.randint(1, 25))]
        tunes.append(tune_of(pitches, f"Tune {n}"))
    return tunes


@pytest.mark.parametrize("seed", range(8))
def test_ways_are_counted_as_the_plain_programme_plays_them(seed):
    rng = seeded(seed)
    layout, costs = random_layout(rng), random_costs(rng)
    lines = [random_line(rng, layout, most=30) for _ in range(15)]
    low, ways, repertoire = lowest_reed(layout), sounds(layout), repertoire_of(lines)
    paid, places = fit_layout(repertoire, layout, costs, low)
    found = tally(repertoire, np.tile(np.arange(24), (len(lines), 1)), ways, costs, low)
    assert found.costs.tolist() == paid.tolist()
    assert found.places.tolist() == places.tolist()
    taken = {}
    for n, line in enumerate(lines):
        shift = low + int(places[n]) - repertoire.lowest[n]
        played = play(line, ways, costs, shift=shift).ways
        hows = ["missing" if way is None else way.how for way in played]
        wanted = [hows.count(how) for how in ("natural", "bend", "overbend", "missing")]
        assert found.hows[n].tolist() == wanted
        for step, way in zip(line, played, strict=True):
            place = step.midi + shift, way
            taken[place] = taken.get(place, 0) + 1
    assert dict(found.ways) == taken


def by_hand(tunes, layout, shifts_of):
    """Return cost, counts of tunes, bends and missing notes, each tune tried at every shift."""
    ways, total, bends, missing = sounds(layout), 0, 0, 0
    reached = [0, 0, 0]
    hows = ("natural", "bend", "overbend")
    for tune in tunes:
        tried = []
        for shift in shifts_of(tune, layout):
            played = play(line_of(tune, COSTS), ways, COSTS, shift=shift)
            easiest = [ways[m + shift][0].how if m + shift in ways else "" for m in tune.pitches]
            rank = max(hows.index(how) if how else 3 for how in easiest)
            tried.append((played.cost, shift, played.ways, rank))
        best = min(tried, key=lambda each: each[:2])
        total += best[0]
        bends += sum(way is not None and way.how == "bend" for way in best[2])
        missing += best[2].count(None)
        for n in range(3):
            reached[n] += min(each[3] for each in tried) <= n
    return total, *reached, bends, missing


def everywhere(tune, layout):
    first = lowest_reed(layout) - min(tune.pitches)
    return range(first, first + 24)


def octaves(tune, layout):
    return [by for by in everywhere(tune, layout) if by % 12 == 0]


@pytest.mark.parametrize(("as_written", "shifts"), [(False, everywhere), (True, octaves)])
def test_a_ranking_is_what_every_shift_tried_gives(as_written, shifts):
    tunes = random_tunes(3)
    layouts = [catalogue_layout(name).in_key(parse_key("D")) for name in NAMES]
    candidates = [Candidate(*each, "D") for each in zip(NAMES, layouts, strict=True)]
    found = rank(tunes, candidates, COSTS, as_written=as_written)
    assert [each.cost for each in found] == sorted(each.cost for each in found)
    for each in found:
        layout = layouts[NAMES.index(each.name)]
        told = (each.cost, each.natural, each.with_bends, each.with_overbends, each.bends,
                each.missing)  # fmt: skip
        assert told == by_hand(tunes, layout, shifts)


def test_tunes_in_their_own_keys_want_the_instrument_of_their_key():
    scale = (0, 2, 4, 5, 7, 9, 11, 12)
    tunes = [tune_of([66 + up for up in scale]), tune_of([78 + up for up in scale[::-1]])]
    keys = ("C", "D", "F#", "Bb")
    standard = catalogue_layout("standard")
    candidates = [Candidate("standard", standard.in_key(parse_key(key)), key) for key in keys]
    best, *others = rank(tunes, candidates, COSTS, as_written=True)
    assert (best.key, best.natural, best.bends) == ("F#", 2, 0)
    assert all(each.natural == 0 for each in others)
    anywhere = rank(tunes, candidates, COSTS)
    assert len({each.cost for each in anywhere}) == 1


def test_moving_tunes_and_keys_together_changes_nothing():
    tunes = random_tunes(5)
    moved = [tune_of([midi + 3 for midi in tune.pitches]) for tune in tunes]
    standard = catalogue_layout("standard")
    here, there = (
        rank(of, [Candidate("x", standard.in_key(parse_key(key)))], COSTS, as_written=True)[0]
        for of, key in ((tunes, "A"), (moved, "C"))
    )
    told = [(each.cost, each.natural, each.bends, each.missing) for each in (here, there)]
    assert told[0] == told[1]


def test_the_hardest_notes_and_the_worst_tunes_say_why():
    hard = tune_of([60, 68, 68, 72], "Hard")  # in both octaves G# is bent
    easy = tune_of([72, 74, 76], "Easy")
    (found,) = rank([easy, hard], [Candidate("x", catalogue_layout("standard"))], COSTS,
                    as_written=True)  # fmt: skip
    worst = found.worst[0]
    assert (worst.tune.title, worst.bends, worst.missing, worst.shift) == ("Hard", 2, 0, 12)
    (wide,) = rank([tune_of([60, 62, 68, 96])], [Candidate("x", catalogue_layout("standard"))],
                   COSTS, as_written=True)  # fmt: skip
    (hard,) = wide.hardest
    assert (hard.midi, hard.way.hole, hard.way.semitones, hard.times) == (68, 3, 3, 1)


def test_any_number_of_threads_gives_the_same_and_progress_is_told():
    tunes, told = random_tunes(7), []
    candidates = [Candidate(name, catalogue_layout(name), own=name == "circular") for name in NAMES]
    one = rank(tunes, candidates, COSTS, threads=1)
    many = rank(tunes, candidates, COSTS, threads=4, progress=lambda *each: told.append(each))
    assert one == many
    assert told == [(n, 4) for n in (1, 2, 3, 4)]
    assert [each.name for each in one if each.own] == ["circular"]
    assert match(tunes, [(c.name, c.layout) for c in candidates], COSTS)[0].cost == one[0].cost


def test_a_ranking_that_is_stopped_begins_no_further_instrument(monkeypatch):
    class Enough(BaseException):
        pass

    class Pool(ThreadPoolExecutor):
        def shutdown(self, wait=True, *, cancel_futures=False):
            super().shutdown(wait=False, cancel_futures=cancel_futures)
            if cancel_futures:
                over.set()

    def fit(*_asked):
        begun.append(1)
        if len(begun) > 1:
            over.wait(5)

    def progress(done, of):
        raise Enough(done, of)

    begun, over = [], Event()
    monkeypatch.setattr(matching, "ThreadPoolExecutor", Pool)
    monkeypatch.setattr(matching, "_fit", fit)
    standard = Candidate("standard", catalogue_layout("standard"))
    with pytest.raises(Enough, match=r"\(1, 40\)"):
        rank([tune_of((60, 62))], [standard] * 40, COSTS, threads=1, progress=progress)
    assert over.is_set()
    assert len(begun) <= 2


def test_what_an_instrument_adds_to_the_customers_own_is_what_it_saves_on_the_tunes_it_eases():
    tunes = random_tunes(9)
    standard = catalogue_layout("standard")
    instruments = {key: standard.in_key(parse_key(key)) for key in ("C", "D", "G", "A")}
    own = ("C", "D")
    fits = rank(tunes, [Candidate("standard", each, key, own=key in own)
                        for key, each in instruments.items()], COSTS, as_written=True)  # fmt: skip

    def cost(tune, key):
        return by_hand([tune], instruments[key], octaves)[0]

    for fit in fits:
        saved = [max(0, min(cost(t, k) for k in own) - cost(t, fit.key)) for t in tunes]
        wanted = (None, None) if fit.own else (sum(map(bool, saved)), sum(saved))
        assert (fit.easier, fit.saves) == wanted
    alone = rank(tunes, [Candidate("standard", standard)], COSTS)[0]
    assert (alone.easier, alone.saves) == (None, None)
