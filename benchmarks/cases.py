"""One timed case, run in a process of its own so that its peak memory is its own.

`python -m benchmarks.cases CASE` takes a case as JSON and prints what came of it as JSON. Making
the shop is not timed; the peak memory of a case holds the shop too.
"""

import json
import resource
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from functools import partial
from itertools import islice
from typing import Any

from benchmarks import peers
from benchmarks.greedy import Racks
from benchmarks.judge import faults, moved, reservations
from benchmarks.shopdata import Shop, Variant, more_orders, shop
from combwright.allocation.answer import Plan, Reservation
from combwright.allocation.ask import can_build
from combwright.allocation.orders import Copy, Design, Order
from combwright.allocation.planner import plan
from combwright.allocation.stock import Stock
from combwright.allocation.workshop import Workshop

WORKSHOP = Workshop()
#: What the two questions about an order book under way set aside beforehand.
RESERVED_ORDERS = 2_000
RESERVED_PLATES = 4_050
LATE_ORDERS = 9
QUESTIONS = 40
Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Case:
    """Who plans which shop, and how long they may take.

    `times` multiplies every bin's count after the shop is made: the same bins, more plates.
    """

    who: str
    plates: int
    orders: int
    variant: Variant = "realistic"
    seconds: float = 60.0
    times: int = 1
    seed: int = 1


def run(case: Case) -> Answer:
    """Make the shop, run the case, and say what came of it."""
    made = shop(case.plates, case.orders, variant=case.variant, seed=case.seed)
    if case.times != 1:
        bins = tuple(replace(b, count=case.times * b.count) for b in made.stock.bins)
        made = replace(made, stock=Stock(bins))
    shop_mb = _peak_mb()
    answer = _WHO[case.who](case, made)
    answer.setdefault("peak_mb", _peak_mb())
    return asdict(case) | {"groups": _groups(made), "shop_mb": shop_mb} | answer


def _groups(made: Shop) -> int:
    """Count the orders that differ in what they want or in what they are worth."""
    return len(
        {(o.value, o.priority, *(id(copy.design) for copy in o.copies)) for o in made.orders}
    )


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _planned(case: Case, made: Shop) -> Answer:
    told: list[tuple[float, str, float]] = []
    start = time.perf_counter()

    def listen(doing: str, share: float) -> None:
        told.append((round(time.perf_counter() - start, 3), doing, round(share, 4)))

    answer = plan(made.stock, made.orders, WORKSHOP, seconds=case.seconds, progress=listen)
    taken = time.perf_counter() - start
    peak = _peak_mb()  # before the judge adds to it
    found = list(islice(faults(made.stock, made.orders, WORKSHOP, answer), 5))
    return {
        "value": float(answer.value),
        "bound": float(answer.value_bound),
        "proven": answer.proven,
        "cost": float(answer.cost),
        "cost_bound": float(answer.cost_bound),
        "shipped": sum(each.ready for each in answer.served),
        "shortages": len(answer.shortages),
        "took": taken,
        "chosen_at": _chosen_at(told, taken),
        "faults": found,
        "told": told,
        "peak_mb": peak,
    }


def _chosen_at(told: Sequence[tuple[float, str, float]], taken: float) -> float:
    """Return when the planner had chosen its orders, by what it told of its progress."""
    chosen = [n for n, (_, doing, _) in enumerate(told) if doing.startswith("choosing orders")]
    return told[chosen[-1] + 1][0] if chosen and chosen[-1] + 1 < len(told) else taken


def _peer(method: Callable[..., peers.Outcome]) -> Callable[[Case, Shop], Answer]:
    def compare(case: Case, made: Shop) -> Answer:
        found = method(made.stock, made.orders, WORKSHOP, seconds=case.seconds)
        return {
            "value": float(found.value),
            "bound": found.bound,
            "cost": None if found.cost is None else float(found.cost),
            "shipped": found.shipped,
            "took": found.seconds,
            "remark": found.remark,
        }

    return compare


def _ready_names(answer: Plan, *, orders: int, plates: int) -> list[str]:
    """Name ready orders of a plan until there are so many, or so many plates in them."""
    names: list[str] = []
    count = 0
    for served in answer.served:
        if len(names) == orders or count >= plates:
            break
        if served.ready:
            names.append(served.order.name)
            count += sum(len(m.seats) + len(m.kit) for m in served.made)
    return names


def _asked(case: Case, made: Shop, *, reserved: int) -> Answer:
    """Ask for wishes of the order book beside so many orders set aside, or all that are ready."""
    answer = plan(made.stock, made.orders, WORKSHOP, seconds=case.seconds)
    names = _ready_names(answer, orders=reserved, plates=sys.maxsize)
    keep = reservations(answer, names)
    instruments = [o.copies[0].design for o in made.orders if o.copies[0].design.seats]
    asked = instruments[:: max(1, len(instruments) // QUESTIONS)][:QUESTIONS]
    first, _ = _ask(made, asked[0], keep)  # also loads libraries, so it is told apart
    answers = [_ask(made, design, keep) for design in asked]
    truth = [_matches(made.stock, design, keep) for design in asked]
    by_time = sorted(took for took, _ in answers)
    return {
        "reserved_orders": len({r.order for r in keep}),
        "reserved_plates": len(keep),
        "first": first,
        "took": statistics.median(by_time),
        "most": by_time[int(0.95 * (len(by_time) - 1))],
        "slowest": by_time[-1],
        "can": sum(can for _, can in answers),
        "asked": len(asked),
        "faults": ["can_build errs"] * ([can for _, can in answers] != truth),
    }


def _ask(made: Shop, design: Design, keep: list[Reservation]) -> tuple[float, bool]:
    start = time.perf_counter()
    answer = can_build(made.stock, design, WORKSHOP, keep=keep)
    return time.perf_counter() - start, answer.can


def _matches(stock: Stock, design: Design, keep: list[Reservation]) -> bool:
    """Say the same by a matching of its own."""
    used = Counter(each.bin for each in keep)
    bins = tuple(replace(b, count=b.count - used[b.code]) for b in stock.bins)
    return Racks(Stock(bins), [Order("asked", (Copy(1, 1, design),))], WORKSHOP).serve(0)


def _late(case: Case, made: Shop) -> Answer:
    """Add a few orders to an order book whose plates are set aside, with and without `keep`."""
    full = plan(made.stock, made.orders, WORKSHOP, seconds=case.seconds)
    names = {*_ready_names(full, orders=sys.maxsize, plates=RESERVED_PLATES)}
    early = [order for order in made.orders if order.name in names]
    keep = reservations(plan(made.stock, early, WORKSHOP, seconds=case.seconds), names)
    orders = [*early, *more_orders(LATE_ORDERS, first_row=case.orders + 2)]
    free = plan(made.stock, orders, WORKSHOP, seconds=case.seconds)
    start = time.perf_counter()
    kept = plan(made.stock, orders, WORKSHOP, seconds=case.seconds, keep=keep)
    return {
        "took": time.perf_counter() - start,
        "reserved_plates": len(keep),
        "moved_free": moved(keep, free),
        "moved_kept": moved(keep, kept),
        "free": _brief(free),
        "kept": _brief(kept),
        "faults": [*islice(faults(made.stock, orders, WORKSHOP, kept), 5)],
    }


def _brief(answer: Plan) -> Answer:
    return {
        "value": float(answer.value),
        "cost": float(answer.cost),
        "cost_bound": float(answer.cost_bound),
    }


_WHO: dict[str, Callable[[Case, Shop], Answer]] = {
    "planner": _planned,
    "compact model": _peer(peers.compact_highs),
    "first come": _peer(peers.first_come),
    "value a plate": _peer(peers.value_for_a_plate),
    "can, full rack": partial(_asked, reserved=RESERVED_ORDERS),
    "can, bare rack": partial(_asked, reserved=sys.maxsize),
    "late orders": _late,
}


def main(arguments: Sequence[str]) -> None:
    """Run the one case given."""
    print(json.dumps(run(Case(**json.loads(arguments[0])))))


if __name__ == "__main__":
    main(sys.argv[1:])
