"""The benchmark's table, shop by shop, and what to make of it."""

import os
import platform
from collections.abc import Iterator, Sequence

from benchmarks.goals import Row, Verdict

COLUMNS = (
    ("who", 18), ("limit s", 7), ("value", 13), ("bound", 13), ("gap", 8), ("of best", 8),
    ("ready", 7), ("cost", 12), ("cost bound", 12), ("over", 7), ("chosen", 7),
    ("seconds", 8), ("times", 6), ("peak MB", 7),
)  # fmt: skip


def opening() -> str:
    """Say what the columns mean, then head them."""
    machine = f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start"
    return f"""\
Planner benchmark: made-up shops, {machine}, Python {platform.python_version()}.
Each row is a process of its own; making the shop is not timed, but is in the peak memory.
Read the ratios: seconds on a shared machine vary by a fifth and more from run to run.
  gap: how far the value may lie below the best.  of best: value over the lowest bound of the shop.
  over: cost above its bound, "-" where none was found.  chosen: seconds until the orders were
  chosen, and all that the compact model (an integer programme in HiGHS) does: it places no plate.
  seconds: until the whole answer was there.  times: those over the planner's in the shop's first
  row.  Costs of different values do not compare.

{"".join(_cells([name for name, _ in COLUMNS]))}"""


def shop_lines(rows: Sequence[Row]) -> Iterator[str]:
    """Write one shop's rows under its heading."""
    first = rows[0]
    groups = f", {first['groups']:,} groups" if "groups" in first else ""
    yield f"\n{first['plates']:,} plates / {first['orders']:,} orders, {first['variant']}{groups}"
    bounds = [row["bound"] for row in rows if row.get("bound") and row["times"] == 1]
    best = min(bounds, default=None)
    base = next((r["took"] for r in rows if r["who"] == "planner" and "took" in r), None)
    for row in rows:
        yield from _row_lines(row, best if row["times"] == 1 else None, base)


def _row_lines(row: Row, best: float | None, base: float | None) -> Iterator[str]:
    if "error" in row:
        yield f"{row['who']:<18} {row['error']}"
    elif row["who"].startswith("can, "):
        yield (
            f"{row['who']:<18} {row['reserved_orders']:,} orders with {row['reserved_plates']:,} "
            f"plates set aside; {row['asked']} wishes, {row['can']} can; median "
            f"{1000 * row['took']:.0f} ms, 95 in 100 within {1000 * row['most']:.0f} ms, "
            f"slowest {1000 * row['slowest']:.0f} ms, the process's first "
            f"{1000 * row['first']:.0f} ms"
        )
    elif row["who"] == "late orders":
        yield _late(row)
    else:
        yield _figures(row, best, base)
    for fault in row.get("faults", ()):
        yield f"    UNSOUND: {fault}"
    if row.get("remark"):
        yield f"    {row['remark']}"


def _late(row: Row) -> str:
    free, kept = row["free"], row["kept"]
    dearer = kept["cost"] / free["cost"] - 1
    same = "same value" if free["value"] == kept["value"] else "values differ"
    return (
        f"{row['who']:<18} 9 more orders beside {row['reserved_plates']:,} plates set aside: "
        f"{row['moved_free']:,} plates move without keep, {row['moved_kept']:,} with it, "
        f"which costs {dearer:+.3%} ({same}); {row['took']:.1f} s"
    )


def _figures(row: Row, best: float | None, base: float | None) -> str:
    value, bound, cost = row["value"], row.get("bound"), row.get("cost")
    cost_bound = row.get("cost_bound")
    who = row["who"] + (f", x{row['times']} plates" if row["times"] != 1 else "")
    cells = [
        who,
        f"{row['seconds']:g}",
        f"{value:,.10g}",
        "-" if bound is None else f"{bound:,.10g}",
        _gap(row),
        "-" if not best else f"{value / best:.2%}",
        f"{row['shipped']:,}",
        "-" if cost is None else f"{cost:,.0f}",
        "-" if cost_bound is None else f"{cost_bound:,.0f}",
        "-" if not cost_bound else f"{cost / cost_bound - 1:.3%}",
        f"{row.get('chosen_at', row['took']):.2f}",
        f"{row['took']:.2f}",
        "-" if not base else f"{row['took'] / base:.1f}",
        f"{row['peak_mb']:,.0f}",
    ]
    return "".join(_cells(cells))


def _gap(row: Row) -> str:
    """Write the gap; a planner's row says itself whether it is proven, a peer's bound tells."""
    value, bound = row["value"], row.get("bound")
    if not bound:
        return "-"
    if row.get("proven", bound - value <= 1e-9 * bound):
        return "proven"
    return f"{(bound - value) / bound:.1e}"


def _cells(cells: Sequence[str]) -> Iterator[str]:
    for number, (text, (_, width)) in enumerate(zip(cells, COLUMNS, strict=True)):
        yield f"{text:<{width}}" if number == 0 else f" {text:>{width}}"


def closing(verdicts: Sequence[Verdict]) -> str:
    """List the goals that were judged, met or not."""
    if not verdicts:
        return "\nNo goal was judged: they are set for 100,000 / 20,000 and above."
    lines = ["", "Goals (for two cores)"]
    lines += [
        f"  {'met    ' if each.met else 'NOT MET'}  {each.goal}: {each.measured}"
        for each in verdicts
    ]
    return "\n".join(lines)
