"""What the plans' and the bench's tests begin with: a stocked shop, orders, a plan set aside."""

from decimal import Decimal

from combwright.allocation.planner import plan
from combwright.comb.catalogue import catalogue_layout
from combwright.comb.default_comb import default_comb
from combwright.files.answers import plan_answer
from combwright.notes.keys import parse_key
from combwright.shop.designs.queries import workshop
from combwright.shop.orders import actions as order_actions
from combwright.shop.plans import actions as plan_actions
from combwright.shop.plans.asking import Question, asked
from combwright.shop.rack.actions import NewBin, make_bin, receive
from shop.rack.shelves import somebody


def a_set(key="C", plates=1, *, batch="b1", cents=0):
    """Receive the plates of some factory sets, each in its bin; return the bins by seat."""
    comb = default_comb()
    bins = {}
    for seat in catalogue_layout("standard").in_key(parse_key(key)).seats:
        name = f"{key}-{seat.hole}{seat.breath[0]}"
        new = NewBin(
            code=f"{batch}-{name}",
            midi=seat.midi,
            slot_um=round(comb.takes_mm(seat.hole) * 1000),
            mount="front",
            millicents=cents * 1000,
            walk=name,
            cost=Decimal("2.20"),
        )
        bins[f"{seat.hole} {seat.breath}"] = made = make_bin(new, batch)
        receive(somebody(), made, plates)
    return bins


def an_order(number="", *, key="C", layout="standard", quantity=1, **more):
    facts = {
        name: more.pop(name) for name in ("value", "priority", "promised", "due") if name in more
    }
    wish = {"key": key, "layout": layout, "quantity": quantity, **more}
    order = order_actions.make_order(somebody(), {"number": number, **facts}, [wish])
    return order_actions.open_order(order, somebody())


def a_plan(**question):
    """Plan all open orders, and keep the answer."""
    problem = asked(Question(**question))
    answer = plan(problem.stock, problem.orders, workshop(), seconds=5, keep=problem.keep)
    said = {name: sorted(question.get(name, ())) for name in ("without", "promised")}
    return plan_actions.keep_answer(somebody(), {**said, **problem.said}, plan_answer(answer))
