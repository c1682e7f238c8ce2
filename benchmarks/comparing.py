"""Two instruments compared: how often what differs by the margin is called the same.

    python -m benchmarks.comparing [--pairs 4] [--trials 1500]

The first table draws values of notes, the second makes takes of them and measures those. A
difference exactly at the margin may be called the same in 5 of 100 notes; of instruments that do
not differ, the more notes are called the same the better.
"""

import argparse
import os
import time
from collections.abc import Iterator

import numpy as np

from benchmarks.instruments import Instrument
from combwright.comb.catalogue import catalogue_layout
from combwright.ear.compared import Margins
from combwright.ear.comparing import compare
from combwright.ear.equivalence import estimates
from combwright.ear.measures import Measured, measure_take
from combwright.ear.takes import Target

MARGINS = Margins()
#: How far breaths stray from one to the next, as the share of a margin.
STRAYING = (0.2, 0.4)
CASES = ((20, 1), (8, 1), (20, 2), (20, 3), (5, 3), (1, 3), (1, 6))
REPEATS = (1, 3)
ALPHA = 0.05


def main(arguments: list[str] | None = None) -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=4, help="takes of each made up, of ten notes")
    parser.add_argument("--trials", type=int, default=1500, help="how often values are drawn")
    asked = parser.parse_args(arguments)
    print(f"\nComparing: {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    print(
        f"{'notes':>6} {'repeats':>8} {'straying':>9} {'at the margin':>14} {'no difference':>14}"
    )
    for notes, repeats in CASES:
        for straying in STRAYING:
            print(_drawn(notes, repeats, straying, asked.trials))
    print(f"\nfrom sound {'repeats':>8} {'off by':>16} {'the same':>9}  seconds a take")
    for repeats in REPEATS:
        for line in _heard(repeats, asked.pairs):
            print(line)


def _drawn(notes: int, repeats: int, straying: float, trials: int) -> str:
    rng = np.random.default_rng(notes + repeats)
    same = {1.0: 0, 0.0: 0}
    for off in same:
        for _ in range(trials):
            a, b = (rng.normal(0, straying, (notes, repeats)) for _ in range(2))
            b[0] += off
            found = estimates(list(a), list(b), [0.0] * notes)[0]
            same[off] += found is not None and found.verdict(1.0) == "the same"
    share, power = (same[off] / trials for off in same)
    return f"{notes:6d} {repeats:8d} {straying:9.1f} {_goal(share, trials):>14} {power:14.3f}"


def _goal(share: float, trials: int) -> str:
    # Three standard errors of a share that is what it may be.
    most = ALPHA + 3 * np.sqrt(ALPHA * (1 - ALPHA) / trials)
    return f"{share:.3f} {'met' if share <= most else 'NOT met'}"


def _heard(repeats: int, pairs: int) -> Iterator[str]:
    seats = {
        f"{seat.hole} {seat.breath}": seat.midi
        for seat in sorted(catalogue_layout("standard").seats, key=lambda s: (s.hole, s.deck))[::2]
    }
    for name, db, cents in (
        ("1.5 dB", MARGINS.level_db, 0.0),
        ("3 cents", 0.0, MARGINS.cents),
        ("nothing", 0.0, 0.0),
    ):
        start, same = time.process_time(), 0
        for pair in range(pairs):
            a = Instrument(100 + pair, seats, breath_db=0.4, breath_cents=0.8)
            b = a.copy(500 + pair)
            for seat in seats:
                b.db[seat], b.cents[seat] = db, b.cents[seat] + cents
            found = compare(_taken(a, repeats), _taken(b, repeats), list(seats), margins=MARGINS)
            same += found.count("the same")
        share = same / (pairs * len(seats))
        spent = (time.process_time() - start) / (2 * pairs)
        told = _goal(share, pairs * len(seats)) if db or cents else f"{share:.3f}"
        yield f"{'':10} {repeats:8d} {name:>16} {told:>9}  {spent:.1f}"


def _taken(instrument: Instrument, repeats: int) -> Measured[str]:
    played = [seat for seat in instrument.seats for _ in range(repeats)]
    order = [Target(seat, instrument.hz(seat)) for seat in instrument.seats]
    return measure_take(instrument.take(played), order)


if __name__ == "__main__":
    main()
