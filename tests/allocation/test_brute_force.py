"""The planner against enumeration: hundreds of small cases, family by family.

Every case of a family must be answered without a fault (`validity.faults`), be worth what
`oracle.best` says class by class, be proven, and cost the least. The oracle is first held against
slower answers of its own.
"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest

from allocation.instances import FAMILIES, bin_at, drawn, order_at
from allocation.oracle import (
    Case,
    best,
    best_by_trying,
    can_match,
    can_match_by_hall,
    cheapest,
    needs_of,
    worth,
)
from allocation.validity import faults
from combwright.allocation.answer import Plan
from combwright.allocation.orders import Order
from combwright.allocation.planner import plan
from combwright.allocation.promises import PromiseCannotBeKept
from combwright.allocation.stock import Stock

SEEDS = range(24)
MONEY = Decimal("0.000001")
each_seed = pytest.mark.parametrize("seed", SEEDS)


def agrees(family: str, seed: int) -> Plan | None:
    """Plan a case and hold it against the oracle; None when the promises cannot be kept."""
    case = drawn(family, seed)
    expected = best(case)
    if expected is None:
        with pytest.raises(PromiseCannotBeKept):
            plan(case.stock, case.orders, case.workshop)
        return None
    answer = plan(case.stock, case.orders, case.workshop)
    ready = [at for at, served in enumerate(answer.served) if served.ready]
    assert worth(case.orders, ready) == expected.worth
    assert answer.proven
    assert answer.value == answer.value_bound == expected.value
    assert abs(answer.cost - expected.cost) <= MONEY
    assert abs(answer.cost_bound - expected.cost) <= MONEY
    assert faults(case, answer) == []
    return answer


@each_seed
def test_an_order_ships_complete_or_not_at_all(seed):
    agrees("all or nothing", seed)


@each_seed
def test_of_equal_orders_the_earlier_ones_ship(seed):
    agrees("ties", seed)


@each_seed
def test_an_order_ships_though_every_plate_must_be_retuned(seed):
    agrees("retune only", seed)


@each_seed
def test_the_limits_of_retuning_belong_to_what_is_allowed(seed):
    agrees("limits", seed)


@each_seed
def test_one_plate_serves_blow_and_draw_on_either_deck(seed):
    agrees("flips", seed)


@each_seed
def test_contested_plates_go_where_they_are_worth_most(seed):
    agrees("contested", seed)


@each_seed
def test_a_plate_frees_another_down_the_scale(seed):
    agrees("cascades", seed)


@each_seed
def test_a_kit_ships_with_its_instrument_or_alone(seed):
    agrees("kits", seed)


@each_seed
def test_promises_ship_or_are_refused_by_name(seed):
    agrees("promises", seed)


@each_seed
def test_a_slot_as_long_as_its_seat_takes_still_fits(seed):
    agrees("slot limits", seed)


@each_seed
def test_a_deck_accepts_the_mounts_it_is_made_for(seed):
    agrees("mount rules", seed)


@each_seed
def test_a_higher_priority_outweighs_any_value_below_it(seed):
    agrees("priorities", seed)


@each_seed
def test_worthless_orders_ship_when_they_take_nothing_from_others(seed):
    agrees("zero values", seed)


@each_seed
def test_parts_limit_orders_as_plates_do(seed):
    agrees("parts", seed)


@each_seed
def test_copies_of_a_split_order_ship_alone(seed):
    agrees("split copies", seed)


@each_seed
def test_several_batches_change_neither_value_nor_cost(seed):
    agrees("several batches", seed)


@each_seed
def test_all_copies_of_an_order_ship_together(seed):
    agrees("quantities", seed)


@each_seed
def test_expected_plates_serve_orders_due_after_they_arrive(seed):
    agrees("expected", seed)


@each_seed
def test_held_bins_serve_nobody(seed):
    agrees("held", seed)


@each_seed
def test_a_weight_lowers_where_the_file_may_not_or_costs_more(seed):
    agrees("weights", seed)


@each_seed
def test_plates_measured_to_a_thousandth_of_a_cent_cost_exactly_their_labour(seed):
    agrees("measured", seed)


@each_seed
def test_all_rules_hold_at_once(seed):
    agrees("everything", seed)


def test_the_tiny_case_of_the_literature_table_ships_a_c_d_and_e():
    """Parts x3 y2 z2; best value 19 = {a, c, d, e}, by enumeration apart from this project."""
    pitch = {"x": 60, "y": 64, "z": 67}
    bins = tuple(bin_at(name, pitch[name], n) for name, n in (("x", 3), ("y", 2), ("z", 2)))
    wishes = {
        "a": ("xy", "5"),
        "b": ("xz", "4"),
        "c": ("yz", "6"),
        "d": ("xx", "5"),
        "e": ("z", "3"),
    }
    orders = tuple(
        order_at(name, [pitch[part] for part in parts], value)
        for name, (parts, value) in wishes.items()
    )
    answer = plan(Stock(bins), orders)
    assert (answer.value, answer.value_bound) == (19, 19)
    assert [each.order.name for each in answer.served if each.ready] == ["a", "c", "d", "e"]


@pytest.mark.parametrize(("family", "seed"), [("retune only", 2003), ("parts", 4204)])
def test_a_small_plan_does_not_search_for_its_least_cost_until_time_is_up(family, seed):
    """Several sets of a few orders are worth the same; the bound must still reach the cost."""
    case = drawn(family, seed)
    least = best(case).cost
    answer = plan(case.stock, case.orders, case.workshop, seconds=5)
    assert abs(answer.cost - least) <= MONEY
    assert abs(answer.cost_bound - least) <= MONEY


# The oracle against itself.


@pytest.mark.parametrize("family", FAMILIES)
def test_the_oracle_matches_by_paths_what_halls_condition_allows(family):
    answers = set()
    for seed in SEEDS:
        case = drawn(family, seed)
        for one, other in pairwise(case.orders):
            needs = [*needs_of(one), *needs_of(other)][:7]
            by_paths = can_match(case.stock, needs, case.workshop)
            assert by_paths == can_match_by_hall(case.stock, needs, case.workshop)
            assert by_paths == (cheapest(case.stock, needs, case.workshop) is not None)
            answers.add(by_paths)
    assert answers == {True, False}


@pytest.mark.parametrize("family", FAMILIES)
def test_the_oracle_finds_what_trying_every_plate_finds(family):
    for seed in SEEDS:
        case = shortened(drawn(family, seed))
        found = best(case)
        assert (found and (found.worth, found.cost)) == best_by_trying(case)


def shortened(case: Case, most: int = 5) -> Case:
    """Return a case with so few orders that every plate can be tried for every seat."""
    chosen: list[Order] = []
    for order in case.orders:
        if sum(len(needs_of(each)) for each in (*chosen, order)) <= most:
            chosen.append(order)
    return replace(case, orders=tuple(chosen))


@pytest.mark.parametrize("family", FAMILIES)
def test_most_cases_of_a_family_leave_something_waiting_and_ship_something(family):
    mixed = 0
    for seed in SEEDS:
        case = drawn(family, seed)
        found = best(case)
        mixed += found is not None and 0 < len(found.sets[0]) < len(case.orders)
    assert mixed >= len(SEEDS) // 2


WRONGS: dict[str, Callable[[Plan], Plan]] = {
    "a bound lies on the wrong side": lambda p: replace(p, cost_bound=p.cost + 1),
    "is not the sum of the ready orders'": lambda p: replace(p, value=p.value + 1),
    "the orders are not those given": lambda p: replace(p, served=p.served[::-1]),
    "no shortage names it": lambda p: replace(p, shortages=()),
    "does not have the copies": lambda p: replace(
        p, served=tuple(replace(s, made=()) if s.ready else s for s in p.served)
    ),
}


@pytest.mark.parametrize("words", WRONGS)
def test_the_check_of_answers_finds_a_fault_put_in_on_purpose(words):
    case = drawn("all or nothing", 0)
    answer = plan(case.stock, case.orders, case.workshop)
    assert any(words in each for each in faults(case, WRONGS[words](answer)))
