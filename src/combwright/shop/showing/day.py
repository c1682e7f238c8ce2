"""A day in the demo shop, so that every page has something to show: plan, pick, build, send."""

from typing import Final

from combwright.allocation.planner import plan
from combwright.files.answers import plan_answer
from combwright.shop.bench import building, picking, sending
from combwright.shop.designs.queries import workshop
from combwright.shop.orders.models import Order, Wish
from combwright.shop.people.models import Person
from combwright.shop.plans import actions
from combwright.shop.plans.asking import asked
from combwright.shop.plans.models import MadePlan, Taken
from combwright.shop.showing.hearing import hear

#: Orders that plates are set aside for, and how many of them go further.
_ASIDE: Final = 14
_PICKED, _ON_THE_BENCH, _BUILT, _SENT = 2, 1, 1, 1
_SECONDS: Final = 60.0


def a_day(person: Person) -> None:
    """Plan all orders, set plates aside for some, and bring a few of those further."""
    made = make_plan(person)
    ready = made.orders.filter(ready=True, arrives=None).values("order_id")
    instruments = Order.objects.filter(number__in=ready, wishes__what=Wish.INSTRUMENT)
    numbers = list(instruments.order_by("pk").values_list("number", flat=True)[:_ASIDE])
    actions.set_aside(person, made, numbers)
    orders = list(Order.objects.filter(number__in=numbers).order_by("pk"))
    for place, order in enumerate(orders[: _SENT + _BUILT + _ON_THE_BENCH + _PICKED]):
        _pick(person, order, half=place >= _SENT + _BUILT + _ON_THE_BENCH)
        if place < _SENT + _BUILT + _ON_THE_BENCH:
            picking.to_the_bench(person, order)
            _build(person, order, half=place >= _SENT + _BUILT)
        if place < _SENT + _BUILT:
            building.finish(person, order)
        if place == _SENT:
            hear(person, order.instruments.earliest("pk"))
        if place < _SENT:
            sending.send(person, order, tracking="parcel 20261124-1, by the carrier's van")


def make_plan(person: Person) -> MadePlan:
    """Plan all open orders as the job does, and keep the answer."""
    problem = asked()
    answer = plan(problem.stock, problem.orders, workshop(), seconds=_SECONDS, keep=problem.keep)
    return actions.keep_answer(person, dict(problem.said), plan_answer(answer))


def _pick(person: Person, order: Order, *, half: bool) -> None:
    picking.begin(person, [order])
    taken = list(order.taken.filter(state=Taken.ASIDE))
    for each in taken[: len(taken) // 2] if half else taken:
        picking.pick(person, each)


def _build(person: Person, order: Order, *, half: bool) -> None:
    seats = list(order.taken.exclude(place__startswith="kit"))
    for each in seats[: len(seats) // 2] if half else seats:
        building.fit(person, each)
