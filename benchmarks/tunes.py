"""Tunes: readers, the kernel, the trade's claim and the swap search, with our goals beside.

    python -m benchmarks.tunes [--swaps 3]

Times are those of this machine at this load, the compiling of the kernel apart.
"""

import argparse
import os
import random
import time
from collections.abc import Iterator

import numpy as np

from benchmarks.claim import BENDS, CLAIMED, CLAIMED_BENDS, POINTS, measured, measured_bends
from benchmarks.collections import ALL, read_collections, texts
from combwright.comb.catalogue import catalogue_layout
from combwright.playing.costs import preset
from combwright.playing.fitting import fit_layout
from combwright.playing.lines import line_of
from combwright.playing.repertoire import LANES, Repertoire, lowest_reed, repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps
from combwright.playing.swapping import every_family, job_of, search
from combwright.playing.working import Families, ThreadWork
from combwright.tunes.abc_tunes import read_abc
from combwright.tunes.tune import Tune

#: Seconds for so many swaps on two cores: goal and stretch goal.
GOALS = {2: (0.75, 0.25), 3: (8.0, 2.5), 4: (90.0, 30.0)}
TUNES = 1000


def main(arguments: list[str] | None = None) -> None:
    """Print everything, part by part."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--swaps", type=int, default=4, help="the most swaps that are searched")
    asked = parser.parse_args(arguments)
    load = os.getloadavg()[0]
    print(f"\nTunes: {os.cpu_count()} cores, load {load:.1f} at the start")
    tunes = list(_reading())
    _claim(tunes)
    repertoire = _sample(tunes)
    _kernel(repertoire)
    _swaps(repertoire, asked.swaps)


def _reading() -> Iterator[Tune]:
    written = texts(ALL)
    start = time.process_time()
    readings = [read_abc(text, name) for name, text in written]
    took = time.process_time() - start
    count = sum(len(each.tunes) for each in readings)
    notes = sum(len(tune.notes) for each in readings for tune in each.tunes)
    faults = sum(len(each.faults) for each in readings)
    print(f"ABC: {count:,} tunes, {notes:,} notes, {faults} not read; {count / took:,.0f} a CPU s")
    yield from read_collections().tunes


def _claim(tunes: list[Tune]) -> None:
    found, bends = measured(tunes), measured_bends(tunes)
    print(f"Tunes with natural notes alone, % of {len(tunes):,}; bends in 100 notes (claimed)")
    for name, share in found.items():
        bent = f"{bends[name]:5.2f} ({CLAIMED_BENDS[name]:.2f})"
        print(f"  {name:<36} {share:5.1f} ({CLAIMED[name]:.1f})  {bent}")
    close = all(abs(found[name] - CLAIMED[name]) <= POINTS for name in CLAIMED)
    order = sorted(found, key=found.__getitem__) == sorted(CLAIMED, key=CLAIMED.__getitem__)
    _verdict(
        "within 2 points, and in that order", "yes" if close and order else "no", close and order
    )
    near = all(abs(bends[name] - CLAIMED_BENDS[name]) <= BENDS for name in CLAIMED_BENDS)
    _verdict("bends within 0.1", "yes" if near else "no", near)


def _sample(tunes: list[Tune]) -> Repertoire:
    costs = preset("intermediate")
    chosen = random.Random(1).sample(tunes, TUNES)
    return repertoire_of([line_of(tune, costs) for tune in chosen])


def _kernel(repertoire: Repertoire) -> None:
    costs, base = preset("intermediate"), catalogue_layout("standard")
    start = time.perf_counter()
    fit_layout(repertoire, base, costs, lowest_reed(base))
    took = time.perf_counter() - start
    print(f"first call of the kernel (compiled, or from its cache): {took:.2f} s")
    space = SwapSpace(base, all_swaps(base, 2))
    job, families = job_of(space, repertoire, costs), every_family(space, 2)
    some = job.search(Families(families.seats[:1], families.states[:1]), 2**61)
    work = ThreadWork(job)
    start = time.perf_counter()
    found = [leaves for _, leaves in work.search(families, 2**61)]
    _rate("bounded", sum(each.tried for each in found), repertoire, time.perf_counter() - start)
    sets = np.tile(some.sets, (10, 1))
    work.totals(some.sets)
    start = time.perf_counter()
    work.totals(sets)
    _rate("worked out at the best place", len(sets), repertoire, time.perf_counter() - start)


def _rate(word: str, layouts: int, repertoire: Repertoire, took: float) -> None:
    evaluations = layouts * len(repertoire.notes) * LANES / took
    print(f"{word}: {layouts / took:,.0f} layouts/s, {evaluations / 1e9:.2f} billion notes/s")


def _swaps(repertoire: Repertoire, most: int) -> None:
    costs, base = preset("intermediate"), catalogue_layout("standard")
    space = SwapSpace(base, all_swaps(base, 2))
    print(f"Swaps: {TUNES:,} tunes, {len(repertoire.notes):,} notes, {LANES} places each")
    before = 0.0
    for size in range(1, most + 1):
        start = time.perf_counter()
        found = search(space, repertoire, costs, most=size)[size]
        whole = time.perf_counter() - start
        took, before = whole - before, whole
        best = "; ".join(swap.text for swap in found.best[0].swaps)
        print(
            f"  {size}: {took:8.2f} s  {found.candidates:>9,} sets, "
            f"{found.evaluated:,} worked out; best {best}"
        )
        if size in GOALS:
            goal, stretch = GOALS[size]
            _verdict(f"{goal:g} s, stretch {stretch:g} s", f"{took:.2f} s", took <= goal)


def _verdict(goal: str, measured_text: str, met: bool) -> None:
    print(f"  {'met    ' if met else 'NOT MET'}  {goal}: {measured_text}")


if __name__ == "__main__":
    main()
