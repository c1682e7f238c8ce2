"""The goals that were set for the planner, and whether a run met them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from benchmarks.cases import Case

Row = dict[str, Any]
BIG, HUGE = (100_000, 20_000), (1_000_000, 200_000)
#: Some 2,000 orders can be built from this rack: once they are set aside it serves nothing else.
BARE = (40_000, 8_000)
MORE_PLATES = 10
#: Ratios of times are judged with this much room for the machine's noise.
ROOM = 1.25


@dataclass(frozen=True, slots=True)
class Verdict:
    """One goal, what was measured, and whether that meets it."""

    goal: str
    measured: str
    met: bool


def cases(sizes: Sequence[tuple[int, int]]) -> Iterator[Case]:
    """Return the runs that only the goals need, for the sizes at hand."""
    if BIG in sizes:
        yield Case("planner", *BIG, seconds=2)
        yield Case("planner", *BIG, variant="distinct", seconds=5)
        yield Case("planner", *BIG, seconds=10)
        yield Case("planner", *BIG, seconds=10, times=MORE_PLATES)
        yield Case("can, full rack", *BIG, seconds=10)
        yield Case("can, bare rack", *BARE, seconds=10)
    if HUGE in sizes:
        yield Case("planner", *HUGE, seconds=10)


def verdicts(rows: Sequence[Row]) -> Iterator[Verdict]:
    """Judge the goals whose runs are among the rows."""
    if row := _find(rows, BIG, seconds=2):
        word = "proven" if row["proven"] else f"gap {_gap(row):.1e}"
        yield Verdict(
            "100,000 / 20,000: value proven in 2 s",
            f"{word} after {row['chosen_at']:.1f} s, plates handed out after {row['took']:.1f} s",
            row["proven"] and row["chosen_at"] <= 2,
        )
    if row := _find(rows, BIG, variant="distinct", seconds=5):
        gap = _gap(row)
        yield Verdict(
            "the same, each plate measured, all values different: gap 1e-4 in 5 s",
            f"gap {gap:.1e} after {row['chosen_at']:.1f} s, handed out after {row['took']:.1f} s",
            gap <= 1e-4 and row["chosen_at"] <= 5,
        )
    if row := _find(rows, BIG, seconds=10):
        over = row["cost"] / row["cost_bound"] - 1
        yield Verdict(
            "100,000 / 20,000: cost within 0.1 % of its bound in 10 s",
            f"{over:.3%} in {row['took']:.1f} s",
            over <= 1e-3 and row["took"] <= 10,
        )
    yield from _huge_and_questions(rows)
    yield from _growth(rows)


def _huge_and_questions(rows: Sequence[Row]) -> Iterator[Verdict]:
    if row := _find(rows, HUGE, seconds=10):
        word = "proven" if row["proven"] else f"gap {_gap(row):.1e}"
        yield Verdict(
            "1,000,000 / 200,000: planned, and its value proven, in 10 s",
            f"{word} after {row['chosen_at']:.1f} s, plates handed out after {row['took']:.1f} s",
            row["proven"] and row["took"] <= 10,
        )
    for size, rack in ((BIG, "full rack"), (BARE, "bare rack")):
        if row := _find(rows, size, who=f"can, {rack}"):
            yield Verdict(
                f"can this wish be built, 2,000 orders reserved, {rack}: 50 ms for 95 in 100",
                f"{1000 * row['most']:.0f} ms, median {1000 * row['took']:.0f} ms",
                row["reserved_orders"] >= 2000 and row["most"] <= 0.05,
            )


def _growth(rows: Sequence[Row]) -> Iterator[Verdict]:
    """Judge how time grows with plates and with groups of orders."""
    big = _find(rows, BIG, seconds=10)
    more = _find(rows, BIG, seconds=10, times=MORE_PLATES)
    huge = _find(rows, HUGE, seconds=10)
    if big and more:
        ratio = more["took"] / big["took"]
        yield Verdict(
            f"time independent of plates: {MORE_PLATES} times as many in the same bins",
            f"{ratio:.2f} times the time, {more['shipped'] / big['shipped']:.1f} times the orders "
            "ready",
            ratio <= ROOM,
        )
    if big and huge:
        ratio = huge["took"] / big["took"]
        groups = huge["groups"] / big["groups"]
        yield Verdict(
            "time at most linear in groups of orders",
            f"{ratio:.1f} times the time for {groups:.1f} times the groups and 10 times the orders",
            ratio <= ROOM * groups,
        )


def _gap(row: Row) -> float:
    return float((row["bound"] - row["value"]) / row["bound"]) if row["bound"] else 0.0


def _find(rows: Sequence[Row], size: tuple[int, int], **wanted: Any) -> Row | None:
    named = {"who": "planner", "variant": "realistic", "times": 1} | wanted
    named |= {"plates": size[0], "orders": size[1]}
    fitting = (row for row in rows if all(row[key] == value for key, value in named.items()))
    return next((row for row in fitting if "error" not in row), None)
