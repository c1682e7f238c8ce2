"""What is told of swaps agrees with what match and the plain programme say of the same layouts."""

import numpy as np
import pytest

from combwright.allocation.stock import Bin
from combwright.comb.catalogue import catalogue_layout
from combwright.comb.default_comb import default_comb
from combwright.comb.reach import sounds
from combwright.playing.costs import preset
from combwright.playing.lines import line_of
from combwright.playing.matching import match
from combwright.playing.programme import play
from combwright.playing.repertoire import lowest_reed, repertoire_of
from combwright.playing.standing import Standings
from combwright.playing.stock import from_rack
from combwright.playing.swap_answer import is_proven, tell
from combwright.playing.swap_sets import swap_space, swapped
from combwright.playing.swapping import Found, Round, search
from combwright.tunes.abc_tunes import read_abc
from playing.lines import seeded

COSTS = preset("intermediate")
BASE = catalogue_layout("standard")
SPACE = swap_space(BASE, 2)
LOW = lowest_reed(BASE)
LETTERS = [*"CDEFGABcdefgab", "c'", "^G", "_B", "^f", "^c"]


@pytest.fixture(scope="module")
def tunes():
    rng = seeded(6)
    texts = [
        f"X:{n}\nT:Tune {n}\nL:1/8\nK:C\n{' '.join(rng.choices(LETTERS, k=rng.randint(3, 25)))}\n"
        for n in range(1, 25)
    ]
    return read_abc("\n".join(texts), "book.abc").tunes


@pytest.fixture(scope="module")
def lines(tunes):
    return [line_of(tune, COSTS) for tune in tunes]


@pytest.fixture(scope="module")
def answer(tunes, lines):
    arrays = repertoire_of(lines)
    rounds = search(SPACE, arrays, COSTS, most=1, keep=4)
    return tell(rounds, SPACE, tunes, lines, arrays, COSTS, key=0)


def test_a_standing_is_what_match_says_of_the_layout(tunes, lines):
    rng = seeded(7)
    standings = Standings(lines, repertoire_of(lines), COSTS, LOW)
    single = [swap for found in SPACE.swaps for swap in found]
    layouts = [BASE, *(swapped(BASE, [swap]) for swap in rng.sample(single, 12))]
    for layout in [*layouts, catalogue_layout("natural-minor")]:
        found, fit = standings.of(layout), match(tunes, [("", layout)], COSTS, low=LOW)[0]
        assert (found.cost, found.natural, found.notes, found.bends, found.overbends) == (
            fit.cost, fit.natural, fit.notes, fit.bends, fit.overbends,
        )  # fmt: skip
        assert (found.missing, found.bends_per_100) == (fit.missing, fit.bends_per_100)


def test_every_set_is_told_with_the_cost_that_the_search_found(answer):
    assert [t.found.swaps for t in answer.of(answer.rounds[0])] == [
        each.swaps for each in answer.rounds[0].best
    ]
    for told in answer.told.values():
        assert told.standing.cost == told.found.cost


def test_tunes_get_easier_and_harder_by_what_they_cost_before_and_after(answer, tunes, lines):
    def least(line, layout):
        first = LOW - min(step.midi for step in line)
        ways = sounds(layout)
        return min(play(line, ways, COSTS, shift=first + lane).cost for lane in range(24))

    before = np.array([least(line, BASE) for line in lines])
    for told in answer.of(answer.rounds[0])[:2]:
        by = np.array([least(line, swapped(BASE, told.found.swaps)) for line in lines]) - before
        effect = told.effect
        assert (effect.easier, effect.harder) == ((by < 0).sum(), (by > 0).sum())
        assert effect.easier + effect.harder + effect.same == len(tunes)
        assert [each.by for each in effect.worst] == sorted(by[by > 0].tolist())[::-1][:3]
        assert [each.by for each in effect.best] == sorted(by[by < 0].tolist())[:3]
        for each in (*effect.worst, *effect.best):
            assert by[tunes.index(each.tune)] == each.by
    assert any(told.effect.worst for told in answer.told.values())


def test_the_third_blow_raised_changes_what_can_be_read_off_the_layout(tunes, lines):
    (third,) = [s for found in SPACE.swaps for s in found if s.text == "3 blow=A4"]
    rounds = [Round(n, 1, 1, 1, None, (Found(0, swaps),)) for n, swaps in ((0, ()), (1, (third,)))]
    effect = (
        tell(rounds, SPACE, tunes, lines, repertoire_of(lines), COSTS, key=0).told[(third,)].effect
    )
    assert [(n.midi, n.how, n.otherwise) for n in effect.lost] == [(68, "bend", "overbend")]
    assert [(n.midi, n.how, n.otherwise) for n in effect.gained] == [(69, "natural", "bend")]
    three = [(c.holes, c.was, c.now) for c in effect.chords if len(c.holes) == 3]
    assert three == [((1, 2, 3), "C", "Am/C"), ((2, 3, 4), "C/E", "Am/E"), ((3, 4, 5), "C/G", "Am")]
    assert [(c.holes, c.was, c.now) for c in effect.splits] == [((3, 6), "G octave", None)]
    second = next(each for each in effect.scales if each.position == 2)
    assert (second.was["bend"], second.now["bend"], second.now["overbend"]) == (1, 0, 1)


def test_the_base_changes_nothing(answer):
    effect = answer.base.effect
    assert effect.lost == effect.gained == effect.chords == effect.splits == effect.scales == ()
    assert (effect.easier, effect.harder) == (0, 0)


def test_plates_are_named_where_they_were_asked_for(answer, tunes, lines):
    assert answer.base.plates is None
    bins = [Bin("near", 69, -20.0, 9.0, "front", "b", 1), Bin("far", 68, 0.0, 9.0, "front", "b", 9)]
    space, arrays = from_rack(SPACE, bins, default_comb()), repertoire_of(lines)
    stocked = tell(search(space, arrays, COSTS, most=1), space, tunes, lines, arrays, COSTS, key=0)
    plates = {t.found.swaps[0].text: t.plates[0] for t in stocked.of(stocked.rounds[0])}
    assert plates["3 blow=A4"][0].name == "near"
    assert plates["3 blow=A4"][1].retune_cents == 20.0


def test_a_round_is_proven_only_if_what_is_left_cannot_be_better():
    found = (Found(100, ()), Found(200, ()))
    assert is_proven(Round(1, 9, 9, 2, 200, found))
    assert is_proven(Round(1, 9, 9, 9, None, found))
    assert not is_proven(Round(1, 9, 9, 2, 199, found))
    assert not is_proven(Round(1, 9, 8, 2, 200, found))
