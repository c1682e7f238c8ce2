"""What is set aside, for whom, and what is refused, with nothing half done."""

from datetime import date
from decimal import Decimal

import pytest

from combwright.allocation.planner import plan as plan_orders
from combwright.files.answers import plan_answer
from combwright.shop.bench import picking
from combwright.shop.designs.queries import workshop
from combwright.shop.orders import actions as order_actions
from combwright.shop.orders.models import Order, Step
from combwright.shop.orders.states import State
from combwright.shop.plans import actions, queries
from combwright.shop.plans.answers import claims
from combwright.shop.plans.asking import Question, asked
from combwright.shop.plans.expected import bins_of_set
from combwright.shop.plans.faults import faults
from combwright.shop.plans.models import MadePlan, PlanOrder, Taken, TakenPart
from combwright.shop.rack import actions as rack
from combwright.shop.rack import change_actions
from combwright.shop.rack.item_actions import NewItem, make_item
from combwright.shop.rack.models import Batch, Bin, Item
from combwright.shop.rack.queries import ledger_faults
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]
LATER = date(2099, 1, 1)


def sound():
    return [*faults(), *ledger_faults()] == []


def states():
    return dict(Order.objects.values_list("number", "state"))


def aside():
    return sum(Bin.objects.values_list("aside", flat=True))


def test_a_kept_answer_is_read_back_as_the_planner_gave_it():
    a_set("C", 2, cents=-12)
    for n in range(3):
        an_order(f"W-{n}", value=3 + n, kit="5 draw")
    problem = asked()
    answer = plan_answer(
        plan_orders(problem.stock, problem.orders, workshop(), seconds=5, keep=problem.keep)
    )
    made = actions.keep_answer(None, problem.said, answer)
    assert MadePlan.objects.get(pk=made.pk).answer == answer
    assert len(answer["shortages"]) > 0
    assert (made.ready, made.waiting) == (1, 2)
    assert list(queries.PlateList(made, show="retuned")) == list(queries.PlateList(made))
    assert len(queries.PlateList(made)) == len(claims(answer)) == 21


def test_only_the_ticked_orders_are_set_aside_and_the_plan_is_used_up():
    a_set("C", 3)
    for n in range(3):
        an_order(f"W-{n}")
    made = a_plan()
    actions.set_aside(somebody(), made, ["W-0", "W-2"])
    assert states() == {"W-0": "aside", "W-1": "open", "W-2": "aside"}
    assert aside() == 40
    assert sound()
    with pytest.raises(actions.PlanIsOld, match="set aside before"):
        actions.set_aside(somebody(), made, ["W-1"])


def test_a_plan_that_takes_plates_from_an_order_is_set_aside_for_all_and_says_so():
    a_set("C", 1)
    an_order("calm")
    actions.set_aside(somebody(), a_plan())
    an_order("dear", value=100)
    made = a_plan()
    with pytest.raises(actions.PlanIsOld, match="set it aside for all, not for some"):
        actions.set_aside(somebody(), made, ["dear"])
    assert states() == {"calm": "aside", "dear": "open"}
    actions.set_aside(somebody(), made)
    assert states() == {"calm": "open", "dear": "aside"}
    assert sound()


def test_setting_aside_writes_one_step_for_each_order_as_advancing_one_does():
    a_set("C", 2)
    for n in range(2):
        an_order(f"W-{n}")
    before = dict(Order.objects.values_list("number", "version"))
    made = actions.set_aside(somebody(), a_plan())
    assert {n: v + 1 for n, v in before.items()} == dict(
        Order.objects.values_list("number", "version")
    )
    steps = Step.objects.filter(state=State.ASIDE)
    assert {(s.order.number, s.words, s.by) for s in steps} == {
        (f"W-{n}", f"plates set aside by plan {made.pk}", somebody()) for n in range(2)
    }


@pytest.mark.parametrize(
    ("ticked", "why"),
    [([], "none is ticked"), (["W-9"], "W-9 is not ready"), (["W-0", "W-1"], "W-1 is not ready")],
)
def test_what_is_not_ready_is_not_set_aside_for(ticked, why):
    a_set("C", 1)
    an_order("W-0", value=9)
    an_order("W-1")
    with pytest.raises(actions.NotReady, match=why):
        actions.set_aside(somebody(), a_plan(), ticked)
    assert aside() == 0
    assert set(states().values()) == {"open"}


def test_a_plan_without_a_ready_order_sets_nothing_aside():
    an_order("W-0")
    with pytest.raises(actions.NotReady, match="No order of this plan is ready"):
        actions.set_aside(somebody(), a_plan())


def test_an_order_whose_plates_are_still_to_come_is_ready_and_cannot_be_set_aside():
    a_set("C", 1)
    an_order("W-0", value=9)
    an_order("W-1", due=LATER)
    expected = tuple(bins_of_set("C", 1, LATER, Decimal("1.10")))
    made = a_plan(expected=expected)
    assert made.ready == 2
    [waiting] = made.orders.exclude(arrives=None)
    assert (waiting.order_id, waiting.arrives) == ("W-1", LATER)
    with pytest.raises(actions.NotReady, match=r"W-1 waits for plates that arrive on Jan. 1, 2099"):
        actions.set_aside(somebody(), made, ["W-1"])
    actions.set_aside(somebody(), made)
    assert states() == {"W-0": "aside", "W-1": "open"}
    assert sound()


def test_an_order_that_is_left_out_gives_its_plates_to_the_others():
    a_set("C", 1)
    an_order("W-0", value=9)
    actions.set_aside(somebody(), a_plan())
    an_order("W-1")
    made = a_plan(without=frozenset({"W-0"}))
    assert made.what_if
    actions.set_aside(somebody(), made)
    assert states() == {"W-0": "open", "W-1": "aside"}
    assert aside() == 20
    assert sound()


def test_a_what_if_is_compared_with_the_plain_plan_of_the_same_shop():
    a_set("C", 1)
    an_order("W-0", value=9)
    an_order("W-1", value=4)
    what_if = a_plan(promised=frozenset({"W-1"}))
    assert queries.effect(what_if) is None
    plain = a_plan()
    found = queries.effect(what_if)
    assert (found.plain, found.ready, found.value) == (plain, 0, Decimal(-5))
    assert (found.gained, found.lost) == (("W-1",), ("W-0",))
    rack.receive(somebody(), Bin.objects.first(), 1)
    assert queries.effect(a_plan(promised=frozenset({"W-1"}))) is None


def test_a_pin_is_a_change_that_an_older_plan_knows_nothing_of():
    a_set("C", 2)
    an_order("W-0")
    actions.set_aside(somebody(), a_plan())
    plate = Taken.objects.get(place="4 upper blow")
    older = a_plan()
    actions.pin(somebody(), plate, pinned=True)
    with pytest.raises(actions.PlanIsOld, match="W-0 was changed"):
        actions.set_aside(somebody(), older)
    pinned = a_plan()
    actions.pin(somebody(), plate, pinned=False)
    with pytest.raises(actions.PlanIsOld, match="W-0 was changed"):
        actions.set_aside(somebody(), pinned)
    assert Taken.objects.filter(state=Taken.ASIDE).count() == 20
    assert sound()


def test_plates_of_a_kit_and_those_given_back_are_not_pinned():
    a_set("C", 2)
    order = an_order("W-0", kit="5 draw")
    actions.set_aside(somebody(), a_plan())
    kit, seat = Taken.objects.get(place="kit 1"), Taken.objects.get(place="1 upper blow")
    with pytest.raises(actions.NotPinned, match="plates of a kit"):
        actions.pin(somebody(), kit, pinned=True)
    actions.give_back(somebody(), order)
    with pytest.raises(actions.NotPinned, match="given back meanwhile"):
        actions.pin(somebody(), seat, pinned=True)


def test_an_order_that_is_being_picked_is_not_given_back_here():
    a_set("C", 1)
    order = an_order("W-0")
    actions.set_aside(somebody(), a_plan())
    picking.begin(somebody(), [order])
    picking.pick(somebody(), Taken.objects.first())
    with pytest.raises(order_actions.NotSo, match="being picked"):
        actions.give_back(somebody(), order)
    assert sound()


def test_what_moves_is_told_with_the_plate_of_now():
    bins = a_set("C", 1)
    a_set("C", 1, batch="b2", cents=30)
    an_order("W-0")
    actions.set_aside(somebody(), a_plan())
    change_actions.hold_bin(somebody(), bins["3 blow"], "bent")
    made = a_plan()
    [moved] = queries.PlateList(made, show="moved")
    assert (moved.place, moved.was, moved.bin) == ("3 upper blow", "b1-C-3b", "b2-C-3b")
    assert queries.figures(made)["moves"] == 1
    actions.set_aside(somebody(), made)
    assert Taken.objects.get(place="3 upper blow").bin.code == "b2-C-3b"
    assert sound()


@pytest.mark.parametrize("held", ["bin", "batch"])
def test_plates_held_after_they_were_set_aside_are_shown_and_not_picked(held):
    bins = a_set("C", 1)
    order = an_order("W-0")
    actions.set_aside(somebody(), a_plan())
    if held == "bin":
        change_actions.hold_bin(somebody(), bins["3 blow"], "bent")
    else:
        rack.hold(Batch.objects.get(code="b1"), "sharp rivets")
    assert queries.held_aside(Taken.objects.all()) == {"bin": 1, "batch": 20}[held]
    picking.begin(somebody(), [order])
    plate = Taken.objects.get(place="3 upper blow")
    why = {"bin": "Bin b1-C-3b is held", "batch": r"Batch b1 is held \(sharp rivets\)"}[held]
    with pytest.raises(picking.NotThus, match=f"{why}, so none of its plates is picked"):
        picking.pick(somebody(), plate)
    assert Bin.objects.get(code="b1-C-3b").count == 1
    assert sound()
    if held == "bin":
        change_actions.release(somebody(), bins["3 blow"])
    else:
        rack.release(Batch.objects.get(code="b1"))
    assert picking.pick(somebody(), plate).state == Taken.PICKED


def test_parts_move_from_one_order_to_another_in_one_go():
    a_set("C", 2)
    make_item(somebody(), NewItem("Combs", Item.PART, part="comb"), came=1)
    parts = dict.fromkeys(["cover", "screw", "gasket"], 1000)
    for part, came in parts.items():
        make_item(somebody(), NewItem(part, Item.PART, part=part), came=came)
    an_order("W-0")
    actions.set_aside(somebody(), a_plan())
    held = TakenPart.objects.filter(item__part="comb").count()
    an_order("W-1", value=9, promised=True)
    actions.set_aside(somebody(), a_plan())
    assert Order.objects.get(number="W-1").state == State.ASIDE
    assert TakenPart.objects.filter(item__part="comb").count() == held
    assert sound()


def test_a_plan_says_what_changed_since_it_was_made():
    a_set("C", 2)
    an_order("W-0")
    order = an_order("W-1")
    made = a_plan()
    assert queries.changed_since(made, queries.figures(made)) == []
    order_actions.back_to_draft(order, somebody())
    an_order("W-2")
    rack.scrap(somebody(), Bin.objects.first(), 1, note="x")
    change_actions.hold_bin(somebody(), Bin.objects.last(), "bent")
    assert queries.changed_since(made, queries.figures(made)) == [
        "1 order of it was changed.",
        "1 order was opened.",
        "In the rack 1 thing was booked.",
        "1 bin or item was measured, held or changed.",
    ]


def test_plans_that_nobody_set_aside_are_thrown_away_in_the_end():
    a_set("C", 1)
    an_order("W-0")
    kept = actions.set_aside(somebody(), a_plan())
    problem = asked(Question())
    answer = plan_answer(plan_orders(problem.stock, problem.orders, workshop(), seconds=5))
    for _ in range(25):
        actions.keep_answer(None, problem.said, answer)
    assert MadePlan.objects.filter(set_aside_at=None).count() == 20
    assert PlanOrder.objects.filter(plan=kept).count() == 1
