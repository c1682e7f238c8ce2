"""What is done with orders, by the shop's own actions: how long it takes, in how many queries."""

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from benchmarks.bigorders import ASIDE, NEW, UNDER_WAY, tidied

#: Of the orders that are begun so many come to the bench, and so many of those are built.
ON_BENCH: Final = 40
BUILT: Final = 10
#: The goal for setting a plan of `NEW` orders aside, in milliseconds.
SET_ASIDE_MS: Final = 2000
_TURNS: Final = 3


@dataclass(frozen=True, slots=True)
class Done:
    """Something done, and how long it took: in all if it was done once, else the middle one.

    `goal_ms` is 0 where no goal was set.
    """

    act: str
    queries: int
    middle_ms: float
    cpu_ms: float
    goal_ms: int = 0

    def line(self) -> str:
        """Write it as it is printed."""
        goal = f"{self.goal_ms:>7}" if self.goal_ms else f"{'-':>7}"
        late = "  TOO SLOW" if self.goal_ms and self.middle_ms > self.goal_ms else ""
        return (
            f"  {self.act:<42}{self.queries:>8}{self.middle_ms:>11.0f}{self.cpu_ms:>8.0f}"
            f"{goal}{late}"
        )


def heading() -> str:
    """Head the lines of things done."""
    return f"  {'done':<42}{'queries':>8}{'median ms':>11}{'cpu ms':>8}{'goal':>7}"


def brought_under_way() -> Iterator[Done]:
    """Plan the filled shop's drafts but the newest, set aside, and begin some; plan the newest."""
    from combwright.shop.orders.models import Order

    me = _owner()
    drafts = list(Order.objects.filter(state="draft").order_by("pk"))
    old, new = drafts[:-NEW], drafts[-NEW:]
    _open(me, old)
    plans: list[Any] = []
    yield from _plan(me, f"{ASIDE + UNDER_WAY} orders", plans)
    yield _once(f"set {ASIDE + UNDER_WAY} orders' plates aside", _setter(me, plans[-1], None))
    yield from _begun(me, list(Order.objects.filter(state="aside").order_by("pk")[:UNDER_WAY]))
    _open(me, new)
    yield from _plan(me, f"{NEW} orders more", plans)
    tidied()


def a_day() -> Iterator[Done]:
    """Set the newest plan aside for its new orders; then what is done on a bad day."""
    from combwright.shop.bench import picking
    from combwright.shop.orders.models import Order
    from combwright.shop.plans import actions
    from combwright.shop.plans.models import MadePlan, Taken

    me, plan = _owner(), MadePlan.objects.order_by("-pk")[0]
    ready = plan.orders.filter(ready=True, order__state="open").values_list("order_id", flat=True)
    set_aside = _setter(me, plan, list(ready))
    yield _middle(
        f"set {len(ready)} of {NEW} new orders' plates aside",
        [None] * _TURNS, lambda _turn: _and_back(set_aside), goal_ms=SET_ASIDE_MS,
    )  # fmt: skip
    set_aside()
    walk = list(Order.objects.filter(number__in=list(ready)[:10]))
    picking.begin(me, walk)
    there = Taken.objects.filter(order__in=walk, state=Taken.ASIDE).select_related("order")[:10]
    gone: list[Any] = []
    yield _middle("a plate is not there", there, lambda t: gone.append(picking.not_there(me, t)))
    yield _middle("the best plates instead", gone, picking.options)
    some = Order.objects.filter(state="aside")[:20]
    yield _middle("give one order's plates back", some, lambda o: actions.give_back(me, o))


def _owner() -> Any:
    from combwright.shop.people.models import Person

    return Person.objects.get(name="owner")


def _open(me: Any, orders: Sequence[Any]) -> None:
    from django.db import transaction

    from combwright.shop.orders.actions import advance_all
    from combwright.shop.orders.states import State

    with transaction.atomic():
        advance_all(orders, State.OPEN, me, "opened for planning")


def _plan(me: Any, what: str, made: list[Any]) -> Iterator[Done]:
    """Plan all open orders and keep the answer, as the shop's job does."""
    from combwright.allocation.planner import plan
    from combwright.files.answers import plan_answer
    from combwright.shop.designs.queries import workshop
    from combwright.shop.plans import actions
    from combwright.shop.plans.asking import asked

    kept: list[Any] = []
    yield _once(f"read for a plan, {what}", lambda: kept.append(asked()))
    (problem,) = kept
    numbers = workshop()

    def planned() -> None:
        answer = plan(problem.stock, problem.orders, numbers, seconds=60, keep=problem.keep)
        kept.append(plan_answer(answer))

    yield _once(f"plan, {what}", planned)
    said = dict(problem.said)
    keep = lambda: made.append(actions.keep_answer(me, said, kept[-1]))  # noqa: E731 (timed)
    yield _once(f"keep the plan, {what}", keep)


def _setter(me: Any, plan: Any, numbers: list[str] | None) -> Callable[[], object]:
    from combwright.shop.plans.actions import set_aside

    return lambda: set_aside(me, plan, numbers)


class _BackError(Exception):
    """Takes everything back that was done in a transaction."""


def _and_back(act: Callable[[], object]) -> None:
    from django.db import transaction

    try:
        with transaction.atomic():
            act()
            raise _BackError
    except _BackError:
        return


def _begun(me: Any, orders: Sequence[Any]) -> Iterator[Done]:
    """Begin orders; pick some of them, and build some of those."""
    from combwright.shop.bench import building, picking
    from combwright.shop.plans.models import Taken

    picking.begin(me, orders)
    plates = Taken.objects.filter(order__in=orders[:ON_BENCH]).select_related("order")
    yield _middle("pick one plate", plates, lambda each: picking.pick(me, each))
    for each in orders[:ON_BENCH]:
        picking.to_the_bench(me, each)
    fitting = Taken.objects.filter(order__in=orders[:BUILT]).exclude(place__startswith="kit")
    yield _middle(
        "seat one plate", fitting.select_related("order"), lambda each: building.fit(me, each)
    )
    for each in orders[:BUILT]:
        building.finish(me, each)


def _once(act: str, do: Callable[[], object]) -> Done:
    return _middle(act, [None], lambda _once: do())


def _middle(
    act: str, things: Sequence[Any], do: Callable[[Any], object], *, goal_ms: int = 0
) -> Done:
    """Do something with each of some things; tell what one took that is neither slow nor fast."""
    took, computed = [], []
    with counting() as queries:
        for each in things:
            start, cpu = time.perf_counter(), time.process_time()
            do(each)
            took.append(1000 * (time.perf_counter() - start))
            computed.append(1000 * (time.process_time() - cpu))
    many = max(len(took), 1)
    middle, cpu_ms = (sorted(some)[len(some) // 2] if some else 0.0 for some in (took, computed))
    return Done(act, round(queries[0] / many), middle, cpu_ms, goal_ms)


@contextmanager
def counting() -> Iterator[list[int]]:
    """Count the queries that are made meanwhile."""
    from django.db import connection

    counted = [0]

    def count(execute: Any, *args: Any) -> Any:
        counted[0] += 1
        return execute(*args)

    with connection.execute_wrapper(count):
        yield counted
