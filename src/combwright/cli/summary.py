"""A plan in words, for people: what is ready, what waits and why, and how good the answer is."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from statistics import median

from combwright.allocation.answer import Placed, Plan, Served

#: More orders than this are counted instead of listed.
_MOST_LISTED = 100


def summary(plan: Plan, lacks: Mapping[int, str], currency: str) -> Iterator[str]:
    """Write a plan's lines.

    Parameters
    ----------
    plan : Plan
        The answer.
    lacks : mapping
        From a waiting order's place to what it lacks, in words.
    currency : str
        Written behind money.
    """
    ready = [each for each in plan.served if each.ready]
    yield f"{len(ready)} of {_counted(len(plan.served), 'order')} can be built in full now."
    yield from _plates(ready)
    yield from _goodness(plan, currency)
    if ready:
        yield ""
        yield "Ready:"
        yield from _ready(ready, currency)
    waiting = [(n, each) for n, each in enumerate(plan.served) if not each.ready]
    if waiting:
        yield ""
        yield "Waiting, and what each lacks beside all the ready ones:"
        yield from _waiting(waiting, lacks)
        yield ""
        yield "What is missing most, over all open orders:"
        yield from (f"  {each.text}" for each in plan.shortages)


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")


def _placed(served: Served) -> Iterator[Placed]:
    for made in served.made:
        yield from made.seats
        yield from (spare.placed for spare in made.kit)


def _plates(ready: list[Served]) -> Iterator[str]:
    plates = [placed for each in ready for placed in _placed(each)]
    bins = {placed.bin for placed in plates}
    yield f"They take {_counted(len(plates), 'plate')} from {_counted(len(bins), 'bin')}."
    moved = [abs(placed.retune_cents) for placed in plates if placed.way != "none"]
    if not moved:
        yield "No plate needs retuning beyond a touch-up."
        return
    yield (
        f"{_counted(len(moved), 'plate')} must be retuned: by {median(moved):.1f} cents in the "
        f"middle, {max(moved):.1f} at most."
    )
    weighted = sum(placed.way == "weight" for placed in plates)
    if weighted:
        yield f"{weighted} of them by a weight on the tip."


def _goodness(plan: Plan, currency: str) -> Iterator[str]:
    if plan.proven:
        yield f"Value {_plain(plan.value)}: proven, no plan can ship more."
    else:
        yield (
            f"Value {_plain(plan.value)}, of at most {_plain(plan.value_bound)} "
            f"(gap {plan.gap:.4%}): the time was up before the best was proven."
        )
    yield (
        f"Cost {plan.cost:.2f} {currency} for plates, parts and retuning; no plan of this value "
        f"costs less than {plan.cost_bound:.2f} (gap {_share(plan.cost, plan.cost_bound):.4%})."
    )


def _plain(amount: Decimal) -> str:
    return f"{amount.normalize():f}"


def _share(cost: Decimal, bound: Decimal) -> float:
    return float((cost - bound) / cost) if cost else 0.0


def _name(served: Served) -> str:
    order = served.order
    if not order.split:
        return order.name
    return f"{order.name} (row {order.copies[0].row}, copy {order.copies[0].copy})"


def _ready(ready: list[Served], currency: str) -> Iterator[str]:
    width = max(len(_name(each)) for each in ready[:_MOST_LISTED])
    for each in ready[:_MOST_LISTED]:
        plates = list(_placed(each))
        retuned = sum(placed.way != "none" for placed in plates)
        touched = f", {retuned} retuned" if retuned else ""
        due = f", due {each.order.due}" if each.order.due else ""
        comes = f", complete when plates arrive on {each.arrives}" if each.arrives else ""
        yield (
            f"  {_name(each):<{width}}  {_counted(len(plates), 'plate')}{touched}, "
            f"{each.cost:.2f} {currency}{due}{comes}"
        )
    yield from _more(len(ready))


def _waiting(waiting: list[tuple[int, Served]], lacks: Mapping[int, str]) -> Iterator[str]:
    width = max(len(_name(each)) for _, each in waiting[:_MOST_LISTED])
    for place, each in waiting[:_MOST_LISTED]:
        yield f"  {_name(each):<{width}}  {lacks.get(place) or 'nothing that others do not need'}"
    yield from _more(len(waiting))


def _more(count: int) -> Iterator[str]:
    if count > _MOST_LISTED:
        yield f"  and {count - _MOST_LISTED} more"
