"""Markets that hold only some of all pairs: still every seat is filled, and at the least cost."""

import pytest

from allocation.instances import drawn
from combwright.allocation import market
from combwright.allocation.planner import plan

FAMILIES = ["contested", "cascades", "ties", "several batches", "kits", "quantities", "weights"]


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", range(6))
def test_few_pairs_at_first_lead_to_a_sound_plan_of_the_same_value(family, seed, monkeypatch):
    case = drawn(family, seed)
    whole = plan(case.stock, case.orders, case.workshop)
    monkeypatch.setattr(market, "MOST_ARCS", -1)
    monkeypatch.setattr(market, "_FEWEST_KINDS", 1)
    monkeypatch.setattr(market, "_TIMES_WANTED", 0)
    monkeypatch.setattr(market, "_MOST_ADDED", 1)
    few = plan(case.stock, case.orders, case.workshop, seconds=5)
    assert (few.value, few.proven) == (whole.value, True)
    assert few.cost_bound <= whole.cost <= few.cost
    same = [each.ready for each in few.served] == [each.ready for each in whole.served]
    if same:  # the same orders: then better buys were looked for until there were none
        assert few.cost == whole.cost
