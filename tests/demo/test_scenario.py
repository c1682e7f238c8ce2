import csv
import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from datetime import date
from statistics import mean

import pytest

from combwright.allocation.planner import plan
from combwright.demo.scenario import write_demo_shop
from combwright.files.check import check_file
from combwright.files.orders import ORDER_COLUMNS
from combwright.notes.keys import ORDINARY_KEYS
from demo.planned import placed, plan_folder, quiet, read_folder


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    write_demo_shop(folder)
    return folder


@pytest.fixture(scope="module")
def files(shop):
    return read_folder(shop)


@pytest.fixture(scope="module")
def planned(shop):
    return plan_folder(shop)


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_file_reads_back_without_a_warning(tmp_path):
    written = write_demo_shop(tmp_path / "shop")
    assert [path.name for path in written[:2]] == ["rack.csv", "orders.csv"]
    assert sorted(written) == sorted((tmp_path / "shop").iterdir())
    for path in written:
        quiet(check_file(path))


def test_every_file_is_used(shop):
    """Nothing lies about that no order and no command names."""
    named = {row[column] for row in rows(shop / "orders.csv") for column in row}
    planned_with = {"rack.csv", "orders.csv", "parts.csv", "comb.toml", "workshop.toml"}
    assert {path.name for path in shop.iterdir()} <= planned_with | named


def test_the_bytes_are_the_same_in_another_process(shop, tmp_path):
    program = (
        "import sys; from combwright.demo.scenario import write_demo_shop; "
        "write_demo_shop(sys.argv[1])"
    )
    subprocess.run([sys.executable, "-c", program, str(tmp_path)], check=True)
    for path in shop.iterdir():
        assert (tmp_path / path.name).read_bytes() == path.read_bytes()
        assert b"\r" not in path.read_bytes()


def test_the_rack_holds_some_2400_plates_of_three_batches(files):
    bins = files[0].bins
    assert 2300 <= sum(each.count for each in bins) <= 2500
    assert len({each.batch for each in bins}) == 3
    assert len({each.cost for each in bins}) == 3  # one price a batch


def test_each_drawer_holds_a_set_of_twenty_seats_and_one_holds_what_came_back(files):
    drawers = Counter(each.walk for each in files[0].bins)
    assert all(re.fullmatch(r"[A-D]-\d\d", walk) for walk in drawers)
    assert {walk[0] for walk in drawers} == set("ABCD")
    *sets, returned = drawers.values()
    assert set(sets) == {20}
    assert 5 <= returned <= 12


def test_the_rack_has_sets_of_all_twelve_keys(files):
    """A key's 1 blow is its root, and only that seat is cut `1 blow` (standard layout)."""
    roots = {each.midi for each in files[0].bins if each.cut == "1 blow"}
    assert roots == set(range(55, 67))  # G3 to F#4


def test_stock_is_lopsided(files):
    """What wears out first is nearly gone; the highest plates lie in heaps."""
    left = Counter()
    for each in files[0].bins:
        left[each.cut] += each.count
    assert sum(left.values()) / 20 > 3 * max(left["5 draw"], left["4 draw"])
    assert max(left["2 draw"], left["3 draw"]) < left["6 draw"] < left["9 draw"]
    most = [seat for seat, _ in left.most_common(4)]
    assert set(most) == {"9 blow", "9 draw", "10 blow", "10 draw"}


def test_draw_plates_are_rear_mounted_but_for_one_batch(files):
    mounts = {(each.batch, each.cut.split()[1], each.mount) for each in files[0].bins}
    odd = {batch for batch, breath, mount in mounts if breath == "draw" and mount == "front"}
    assert len(odd) == 1
    usual = {mount for batch, breath, mount in mounts if breath == "draw" and batch not in odd}
    assert usual == {"rear"}
    assert all(mount == "front" for _, breath, mount in mounts if breath == "blow")


def test_plates_lie_a_few_cents_off_and_some_bins_far(files):
    cents = [abs(each.cents) for each in files[0].bins]
    usual = [size for size in cents if size <= 10]
    assert 1 <= mean(usual) <= 3
    assert 5 <= len(cents) - len(usual) <= 12
    assert -38.0 in {each.cents for each in files[0].bins}
    assert 1 <= sum(each.held for each in files[0].bins) <= 3


def test_slots_shorten_towards_the_treble_and_differ_by_tenths_between_batches(files):
    by_batch = {}
    for each in files[0].bins:
        by_batch.setdefault((each.batch, int(each.cut.split()[0])), []).append(each.slot_mm)
    means = {place: mean(slots) for place, slots in by_batch.items()}
    batches = {batch for batch, _ in means}
    for batch in batches:
        lengths = [means[batch, hole] for hole in range(1, 11)]
        assert lengths == sorted(lengths, reverse=True)
    spread = [max(each) - min(each) for each in zip(*_lengths(means, batches), strict=True)]
    assert all(0.2 <= each <= 0.6 for each in spread)


def _lengths(means, batches):
    return [[means[batch, hole] for hole in range(1, 11)] for batch in batches]


def test_some_sixty_orders_ask_for_nearly_everything_an_order_can(shop, files):
    orders = rows(shop / "orders.csv")
    assert 55 <= len({row["order"] for row in orders}) <= 65
    assert all(any(row[column.name] for row in orders) for column in ORDER_COLUMNS)
    assert {row["key"] for row in orders} >= set(ORDINARY_KEYS)
    assert {row["a4"] for row in orders} >= {"442", "443"}
    assert {row["temperament"] for row in orders} >= {"5-limit", "7-limit", "19-limit"}
    assert all(date.fromisoformat(row["due"]) > date(2026, 12, 1) for row in orders)
    worth = [float(row["value"]) for row in orders if row["what"] != "plates"]
    assert (min(worth), max(worth)) == (149, 260)
    assert 2 <= sum(order.promised for order in files[1]) <= 5


def test_orders_are_numbered_and_carry_no_names(shop):
    orders = rows(shop / "orders.csv")
    assert list(orders[0]) == [column.name for column in ORDER_COLUMNS]
    assert all(re.fullmatch(r"W-\d{3}", row["order"]) for row in orders)


def test_a_hole_may_draw_two_notes_and_a_seat_may_be_empty(files):
    instruments = [copy.design.seats for order in files[1] for copy in order.copies]
    breaths = [Counter((want.hole, want.breath) for want in seats) for seats in instruments]
    assert any(max(each.values(), default=0) == 2 for each in breaths)
    assert any(0 < len(seats) < 20 for seats in instruments)


def test_the_plan_is_proven_and_serves_most_orders_but_not_all(planned):
    ready = sum(served.ready for served in planned.served)
    assert planned.proven
    assert planned.value == planned.value_bound
    assert 0.50 <= ready / len(planned.served) <= 0.85
    assert all(served.ready for served in planned.served if served.order.promised)


def test_a_bearable_number_of_plates_is_retuned(planned):
    retuned = [plate for plate in placed(planned) if plate.way != "none"]
    assert 30 <= len(retuned) <= 150
    assert {plate.retune_cents > 0 for plate in retuned} == {True, False}


def test_late_orders_lack_different_things(planned):
    """Contested notes, notes that are not there at all, and covers for one comb."""
    shortages = planned.shortages
    assert {part for each in shortages for part in each.parts} == {"long cover"}
    notes = [each for each in shortages if not each.parts]
    assert len(notes) >= 2
    contested = max(notes, key=lambda each: len(each.orders))
    assert len(contested.orders) >= 8
    assert {"D5", "C5"} & set(contested.pitches)


def test_a_batch_of_six_ships_in_part(planned):
    copies = [served.ready for served in planned.served if served.order.name == "W-109"]
    assert len(copies) == 6
    assert {True, False} == set(copies)


@pytest.mark.parametrize("name", ["W-112", "W-130", "W-149"])
def test_some_orders_cannot_be_served_even_alone(files, name):
    stock, orders, workshop = files
    alone = [order for order in orders if order.name == name]
    assert [served.ready for served in plan(stock, alone, workshop).served] == [False]


def test_a_slot_is_what_keeps_the_low_drone_waiting(files):
    """With room enough in every chamber the order can be built; its notes are all there."""
    stock, orders, workshop = files
    order = next(order for order in orders if order.name == "W-130")
    (copy,) = order.copies
    roomy = tuple(replace(want, takes_mm=60.0) for want in copy.design.seats)
    design = replace(copy.design, seats=roomy)
    loose = replace(order, copies=(replace(copy, design=design),))
    assert plan(stock, [loose], workshop).served[0].ready


def test_the_plan_is_worth_much_more_than_serving_one_order_after_another(files, planned):
    """Even when earlier orders may be given other plates again, as a class of its own allows."""
    stock, orders, workshop = files
    in_turn = [replace(order, priority=n, promised=False) for n, order in enumerate(orders, 1)]
    first_come = plan(stock, in_turn, workshop)
    assert first_come.proven
    assert planned.value > first_come.value * 11 / 10
