"""The planner's benchmark: peers, bounds and goals in one table, one command.

`python -m benchmarks.planner`, or `python benchmarks/planner.py`; `--help` lists the options.
"""

import argparse
import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict, replace
from itertools import groupby
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
if str(ROOT) not in sys.path:  # run as a file, Python looks beside it only
    sys.path.insert(0, str(ROOT))

from benchmarks import goals  # noqa: E402 (after the path above)
from benchmarks.cases import Case  # noqa: E402
from benchmarks.goals import Row  # noqa: E402
from benchmarks.shopdata import Variant  # noqa: E402
from benchmarks.table import closing, opening, shop_lines  # noqa: E402

SIZES = ((2_000, 200), (10_000, 2_000), (100_000, 20_000), (1_000_000, 200_000))
#: The other kinds of order books are planned at this size.
VARIANTS_AT = (10_000, 2_000)
QUICK = SIZES[:2]
PEERS = ("compact model", "value a plate", "first come")
#: A case that takes this much longer than it may is ended.
PATIENCE = 180.0


def plan_of_runs(
    sizes: Sequence[tuple[int, int]], *, seconds: float, peer_seconds: float, seed: int
) -> list[Case]:
    """List every run, those of the same shop beside each other."""
    runs: list[Case] = []
    for size in sizes:
        variants: list[Variant] = ["realistic"]
        if size == VARIANTS_AT:
            variants += ["equal", "classes", "distinct"]
        elif size == goals.BIG:
            variants += ["distinct"]
        for variant in variants:
            runs.append(Case("planner", *size, variant=variant, seconds=seconds))
            runs += [Case(who, *size, variant=variant, seconds=peer_seconds) for who in PEERS]
        if size == VARIANTS_AT:
            runs.append(Case("late orders", *size, seconds=seconds))
    runs += [case for case in goals.cases(sizes) if case not in runs]
    runs = [replace(case, seed=seed) for case in runs]
    return sorted(runs, key=lambda c: (c.plates, c.variant != "realistic", c.variant, c.times))


def measure(case: Case) -> Row:
    """Run one case in a process of its own; what went wrong there stands in the row."""
    command = [sys.executable, "-m", "benchmarks.cases", json.dumps(asdict(case))]
    limit = 2 * case.seconds + PATIENCE
    try:
        done = subprocess.run(
            command, cwd=ROOT, capture_output=True, text=True, timeout=limit, check=False
        )
    except subprocess.TimeoutExpired:
        return asdict(case) | {"error": f"ended after {limit:.0f} s"}
    if done.returncode:
        last = done.stderr.strip().splitlines()[-1:] or [f"exit {done.returncode}"]
        return asdict(case) | {"error": last[0]}
    row: Row = json.loads(done.stdout.strip().splitlines()[-1])
    return row


def _measured(runs: Sequence[Case]) -> Iterator[Row]:
    for number, case in enumerate(runs, start=1):
        size = f"{case.plates:,} / {case.orders:,} {case.variant}"
        print(f"  {number} of {len(runs)}: {size}, {case.who}", file=sys.stderr)
        yield measure(case)


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m benchmarks.planner", description="Time the planner against peers and goals."
    )
    parser.add_argument("--quick", action="store_true", help="only the two smallest sizes")
    parser.add_argument(
        "--sizes", type=_pairs, help="such as 10000/2000,100000/20000; instead of all four"
    )
    parser.add_argument("--seconds", type=float, default=60.0, help="the planner's limit (60)")
    parser.add_argument("--peer-seconds", type=float, default=60.0, help="a peer's limit (60)")
    parser.add_argument("--seed", type=int, default=1, help="of the made-up shops (1)")
    parser.add_argument("--json", type=Path, help="write every row and verdict to this file too")
    return parser.parse_args(arguments)


def _pairs(text: str) -> list[tuple[int, int]]:
    """Read sizes such as `10000/2000,100000/20000`."""
    try:
        pairs = [each.split("/") for each in text.split(",")]
        return [(int(plates), int(orders)) for plates, orders in pairs]
    except ValueError as error:
        wrong = f"{text!r} names no sizes: write plates/orders, as in 10000/2000,100000/20000"
        raise argparse.ArgumentTypeError(wrong) from error


def main(arguments: Sequence[str] | None = None) -> None:
    """Run everything asked for and print the table."""
    options = _options(arguments)
    runs = plan_of_runs(
        options.sizes or (QUICK if options.quick else SIZES),
        seconds=options.seconds,
        peer_seconds=options.peer_seconds,
        seed=options.seed,
    )
    print(opening())
    rows: list[Row] = []
    for _, group in groupby(_measured(runs), key=lambda r: (r["plates"], r["variant"])):
        some = list(group)
        rows += some
        print("\n".join(shop_lines(some)), flush=True)
    verdicts = list(goals.verdicts(rows))
    print(closing(verdicts))
    if options.json:
        record = {"rows": rows, "goals": [asdict(each) for each in verdicts]}
        options.json.write_text(json.dumps(record, indent=1) + "\n")


if __name__ == "__main__":
    main()
