"""What swaps can be made of: a plate of its own for each, from a rack, a kit, or the instrument.

Who serves whom is held to all ways tried, and a rack's plates to what a plan would take.
"""

from dataclasses import replace
from decimal import Decimal
from itertools import combinations, permutations

import pytest

from combwright.allocation.ask import can_build
from combwright.allocation.orders import Design, want_of
from combwright.allocation.stock import Bin, Stock
from combwright.allocation.workshop import Retune, Weight, Workshop
from combwright.comb.catalogue import catalogue_layout
from combwright.comb.changes import apply_changes, kit_seats, parse_changes, parse_kit
from combwright.comb.default_comb import default_comb
from combwright.comb.seats import Seat
from combwright.notes.temperament import EQUAL
from combwright.playing.costs import preset
from combwright.playing.lines import Step
from combwright.playing.repertoire import repertoire_of
from combwright.playing.stock import from_rack, kit_supply, limited, rack_supply, with_kit
from combwright.playing.supply import Plates, Supply, Use, joined
from combwright.playing.swap_sets import SwapSpace, all_swaps, swap_space, swapped
from combwright.playing.swapping import search
from playing.lines import enumerated, random_layout, random_line, seeded

COSTS = preset("intermediate")
COMB = default_comb()
BASE = catalogue_layout("standard")
WHOLE = swap_space(BASE, 2)
SHORT = COMB.takes_mm(10)


def named(space, *texts):
    found = {swap.text: swap for found in space.swaps for swap in found}
    return [found[text] for text in texts]


def plate(code, note, slot=SHORT, count=1, **more):
    return Bin(code, note, more.pop("cents", 0.0), slot, "front", "b1", count, **more)


def kit_of(text, layout=BASE):
    return kit_seats(layout, parse_kit(text))


def with_kit_of(text, space=WHOLE, comb=COMB):
    kit = kit_of(text, space.layout)
    space = with_kit(space, kit)
    return limited(space, kit_supply(space, kit, comb))


def random_supply(rng, swaps):
    """Return few plates for many swaps, some of them free only when their seat is swapped."""
    seats = [swap.seat for swap in swaps]
    plates = tuple(
        Plates("rack", f"b{n}", rng.randint(1, 2), rng.choice([None, None, rng.choice(seats)]))
        for n in range(rng.randint(1, 5))
    )
    uses = {
        swap: tuple(
            Use(n, cost=Decimal(rng.randrange(4))) for n in range(len(plates)) if rng.random() < 0.4
        )
        for swap in swaps
    }
    ranked = {swap: tuple(sorted(found, key=lambda u: u.cost)) for swap, found in uses.items()}
    return Supply(plates, ranked)


def ways_to_serve(supply, chosen):
    """Return the cost of every way to give each swap a plate of its own, plates told apart."""
    seats = {swap.seat for swap in chosen}
    single = [n for n, each in enumerate(supply.plates) for _ in range(each.count)
              if each.out_of is None or each.out_of in seats]  # fmt: skip
    cost = {(swap, use.plates): use.cost for swap in chosen for use in supply.uses[swap]}
    each = [list(zip(chosen, given, strict=True)) for given in permutations(single, len(chosen))]
    return [sum(cost[p] for p in pairs) for pairs in each if all(p in cost for p in pairs)]


@pytest.mark.parametrize("seed", range(8))
def test_swaps_are_served_where_and_as_cheaply_as_some_way_of_all_serves_them(seed):
    rng = seeded(seed)
    answers = set()
    for _ in range(40):
        swaps = rng.sample([s for found in WHOLE.swaps for s in found], 4)
        supply = random_supply(rng, swaps)
        for size in (1, 2, 3, 4):
            chosen = rng.sample(swaps, size)
            costs = ways_to_serve(supply, chosen)
            uses = supply.best(chosen)
            assert supply.serves(chosen) is bool(costs)
            assert (uses is None) is not bool(costs)
            if uses is not None:
                assert sum(use.cost for use in uses) == min(costs)
            answers.add((size, bool(costs)))
    assert len(answers) == 8


def test_sets_without_scarce_swaps_are_always_served():
    rng = seeded(11)
    swaps = rng.sample([s for found in WHOLE.swaps for s in found], 6)
    for _ in range(50):
        supply = random_supply(rng, swaps)
        for size in (1, 2, 3):
            plenty = [swap for swap in swaps if swap not in supply.scarce(size)]
            assert all(supply.serves(chosen) for chosen in combinations(plenty, size))


def test_sets_that_are_served_are_counted_as_trying_every_set_counts_them():
    rng = seeded(12)
    for _ in range(12):
        swaps = [rng.sample(found, 2) if rng.random() < 0.5 else () for found in WHOLE.swaps[:8]]
        supply = random_supply(rng, [swap for found in swaps for swap in found])
        if rng.random() < 0.5:
            supply = Supply(tuple(replace(p, out_of=None) for p in supply.plates), supply.uses)
        space = replace(WHOLE, swaps=tuple(map(tuple, swaps)), stock=supply)
        for size in (0, 1, 2, 3):
            assert supply.count(swaps, size) == len(list(space.sets(size)))


def test_a_rack_serves_a_swap_with_the_plate_that_the_wish_would_get():
    """One swap is served where `can` builds that seat, by the same bin, retuned the same."""
    rng = seeded(4)
    workshops = [Workshop(), Workshop(Retune(30, 30, 5), Weight(120, Decimal("0.1"), Decimal(0)))]
    served = set()
    for number in range(60):
        bins = [
            plate(f"b{n}", rng.randint(60, 96), rng.choice([SHORT, COMB.takes_mm(3), 40.0]),
                  rng.randint(0, 2), cents=rng.choice([0.0, -120.0, 30.0, 80.0]),
                  cost=Decimal(rng.randint(0, 3)), held=rng.random() < 0.2)
            for n in range(8)
        ]  # fmt: skip
        workshop = workshops[number % 2]
        supply = rack_supply(WHOLE, bins, COMB, workshop)
        for swap in rng.sample([s for found in WHOLE.swaps for s in found], 10):
            want = want_of(replace(swap.seat, midi=swap.midi), COMB, EQUAL, 0, 0.0)
            answer = can_build(Stock(tuple(bins)), Design((want,)), workshop)
            assert supply.serves([swap]) is answer.can
            served.add((number % 2, answer.can))
            if answer.can:
                (use,), placed = supply.best([swap]), answer.made.seats[0]
                assert use.cost == placed.cost
                assert (use.retune_cents, use.way) == (placed.retune_cents, placed.way)
    assert len(served) == 4


def test_limits_of_retuning_are_inclusive_and_a_weight_lowers_further():
    (swap,) = named(WHOLE, "3 blow=A4")
    filed = Workshop(Retune(raise_most_cents=60, lower_most_cents=25))
    weighted = replace(filed, weight=Weight(lower_most_cents=50))
    for workshop, cents, served in (
        (filed, -60.0, True), (filed, -60.001, False), (filed, 25.0, True), (filed, 25.001, False),
        (weighted, 50.0, True), (weighted, 50.001, False),
    ):  # fmt: skip
        supply = rack_supply(WHOLE, [plate("a", 69, cents=cents)], COMB, workshop)
        assert supply.serves([swap]) is served, cents


def test_no_swap_uses_a_plate_that_the_rack_does_not_hold():
    exact = Workshop(Retune(0, 0, 0))
    bins = [plate("a", 69, COMB.takes_mm(3)), plate("b", 78), plate("c", 78, 40.0),
            plate("d", 61, held=True), plate("e", 61, count=0)]  # fmt: skip
    space = from_rack(WHOLE, bins, COMB, exact)
    tune = tuple(Step(midi, False, False) for midi in (60, 69, 78, 69, 60))
    rounds = search(space, repertoire_of([tune]), COSTS, most=2, keep=3)
    for each in rounds[1:]:
        for found in each.best:
            assert sorted(swap.midi for swap in found.swaps) in ([69], [78], [69, 78])
    assert 0 < rounds[2].candidates == len(list(space.sets(2))) < space.count(2)


def test_two_swaps_that_only_one_plate_fits_are_not_made_together():
    """Both want E6, and of the two plates one is too long for either hole."""
    chosen = named(WHOLE, "8 draw=E6", "9 draw=E6")
    short = COMB.takes_mm(9)
    for longer, possible in ((short, True), (COMB.takes_mm(8) + 0.1, False)):
        space = from_rack(WHOLE, [plate("a", 88, short), plate("b", 88, longer)], COMB)
        assert space.supplied(chosen) is possible
        assert all(space.supplied([swap]) for swap in chosen)


def test_a_kits_plate_serves_the_note_it_sounds_in_its_own_seat_and_in_longer_chambers():
    space = with_kit_of("5 draw=F#5")
    texts = [swap.text for found in space.swaps for swap in found if space.supplied([swap])]
    assert texts == ["5 blow=F#5", "5 draw=F#5"]  # not 6 blow, G5: its chamber is shorter


def test_a_kits_plate_counts_in_its_own_seat_however_far_it_lies_from_the_reed_there():
    space = with_kit_of("3 blow=C5; 3 blow=D5+3")
    assert [swap.text for swap in space.swaps[4]][-2:] == ["3 blow=C5", "3 blow=D5"]
    assert space.supplied(named(space, "3 blow=D5"))


def test_plates_that_swaps_take_out_may_be_exchanged_and_are_free_no_sooner():
    space = with_kit_of("")
    up, down = named(space, "4 blow=D5", "4 draw=C5")
    assert space.supplied([up, down])
    assert not space.supplied([up])
    assert not space.supplied([down])
    uses = space.stock.best([up, down])
    names = [space.stock.plates[use.plates].name for use in uses]
    assert names == ["4 draw", "4 blow"]


def test_an_owners_plates_go_only_where_mounts_agree():
    fussy = replace(COMB, upper=replace(COMB.upper, mount="front"),
                    lower=replace(COMB.lower, mount="rear"))  # fmt: skip
    kit = "5 draw=A4"
    for comb, possible in ((COMB, True), (fussy, False)):
        space = with_kit_of(kit, comb=comb)
        assert [s.text for s in space.swaps[4]] == (["3 blow=A4"] if possible else [])


def test_a_rack_or_a_kit_serve_a_set_between_them():
    kit = kit_of("5 draw=F#5")
    space = with_kit(WHOLE, kit)
    rack = rack_supply(space, [plate("a", 69, cost=Decimal(2))], COMB, Workshop(Retune(0, 0, 0)))
    both = limited(space, joined(kit_supply(space, kit, COMB), rack))
    chosen = named(both, "3 blow=A4", "5 draw=F#5")
    uses = both.stock.best(chosen)
    assert [(both.stock.plates[u.plates].name, u.cost) for u in uses] == [
        ("a", Decimal(2)), ("5 draw=F#5", Decimal(0)),
    ]  # fmt: skip


def test_a_swaps_text_makes_the_very_layout_that_was_searched():
    """Reeds with cents of their own and two reeds of one breath in a hole included."""
    rng = seeded(9)
    odd = []
    for _ in range(20):
        layout = random_layout(rng, holes=4)
        seats = tuple(
            replace(s, cents=rng.choice([0.0, 100.0, -150.0, 12.5])) for s in layout.seats
        )
        odd.append(replace(layout, seats=seats))
    for layout in [BASE, *odd]:
        space = swap_space(layout, 2)
        for chosen in space.sets(1):
            changes = parse_changes("; ".join(swap.text for swap in chosen))
            expected = apply_changes(space.layout, changes)
            assert swapped(space.layout, chosen) == expected


def test_a_reed_is_named_as_it_sounds():
    layout = replace(BASE, holes=1, seats=(Seat(1, "upper", "blow", 77, 100.0),
                                           Seat(1, "lower", "draw", 77, 0.0)))  # fmt: skip
    space = swap_space(layout, 1)
    assert [s.text for found in space.swaps for s in found] == [
        "1 blow=F5", "1 blow=G5", "1 draw=E5", "1 draw=F#5",
    ]  # fmt: skip
    assert SwapSpace(BASE, all_swaps(BASE, 2)) == swap_space(BASE, 2)


@pytest.mark.parametrize("text", ["", "1 draw=E4; 3 blow=A4; 2 blow=D4"])
def test_the_search_among_what_an_owner_can_make_equals_full_enumeration(text):
    """Exchanged plates too, where neither swap can be made alone."""
    rng = seeded(21)
    base = replace(BASE, holes=3, seats=tuple(s for s in BASE.seats if s.hole <= 3))
    space = with_kit_of(text, swap_space(base, 3))
    lines = [random_line(rng, base, most=10) for _ in range(4)]
    rounds = search(space, repertoire_of(lines), COSTS, most=3, keep=4)
    found = []
    for each in rounds[1:]:
        expected = enumerated(space, lines, COSTS, each.size)[:4]
        assert [(one.cost, one.swaps) for one in each.best] == expected
        assert each.candidates == len(list(space.sets(each.size)))
        found += expected
    alone = {swap for each in space.sets(1) for swap in each}
    assert any(not alone & set(swaps) for _, swaps in found)
