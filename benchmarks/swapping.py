"""The swap search: what its loops do in a second, its goals, brute force, and a cluster.

    python -m benchmarks.swapping [--swaps 4]

A thousand fiddle tunes in 24 places each, the standard layout, every reed moved by up to a tone.
"""

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import islice
from typing import Any, Final

import numpy as np

from benchmarks.collections import read_collections
from combwright.comb.catalogue import catalogue_layout
from combwright.comb.reach import sounds
from combwright.playing.costs import preset
from combwright.playing.fitting import cores
from combwright.playing.lines import Step, line_of
from combwright.playing.programme import play
from combwright.playing.ready import made_ready
from combwright.playing.repertoire import LANES, Repertoire, lowest_reed, repertoire_of
from combwright.playing.swap_sets import SwapSpace, all_swaps
from combwright.playing.swapping import Round, every_family, job_of, search
from combwright.playing.twos import bounds_in_twos, costs_in_twos
from combwright.playing.working import Families, ThreadWork
from combwright.tunes.tune import Tune

#: Seconds for so many swaps on two cores: goal and stretch goal.
GOALS: Final = {2: (0.75, 0.25), 3: (8.0, 2.5), 4: (90.0, 30.0)}
TUNES: Final = 1000
#: Sets of three that are worked out for brute force, of 72,960.
SAMPLE: Final = 1500
COSTS: Final = preset("intermediate")
BASE: Final = catalogue_layout("standard")
SPACE: Final = SwapSpace(BASE, all_swaps(BASE, 2))
Lines = list[tuple[Step, ...]]


def main(arguments: list[str] | None = None, tunes: list[Tune] | None = None) -> None:
    """Print everything, part by part."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--swaps", type=int, default=4, help="the most swaps that are searched")
    asked = parser.parse_args(arguments)
    chosen = random.Random(1).sample(tunes or list(read_collections().tunes), TUNES)
    lines = [line_of(tune, COSTS) for tune in chosen]
    repertoire = repertoire_of(lines)
    print(
        f"\nSwaps: {TUNES:,} tunes, {len(repertoire.notes):,} notes, {LANES} places each; "
        f"{cores()} cores, load {os.getloadavg()[0]:.1f}"
    )
    _compiling()
    _rates(lines, repertoire)
    _brute_force(repertoire)
    found = _goals(repertoire, asked.swaps)
    _cluster(repertoire, found)


def _compiling() -> None:
    """Time a first run in a Python of its own, with nothing kept, and a second."""
    code = "from combwright.playing.ready import made_ready as m; print(m())"
    with tempfile.TemporaryDirectory() as folder:
        took = []
        for _ in range(2):
            start = time.perf_counter()
            subprocess.run([sys.executable, "-c", code], check=True, capture_output=True,
                           env={**os.environ, "NUMBA_CACHE_DIR": folder})  # fmt: skip
            took.append(time.perf_counter() - start)
    print(f"a first search ever, Python's start included: {took[0]:.1f} s, compiling; "
          f"then {took[1]:.1f} s")  # fmt: skip
    made_ready()


def _rates(lines: Lines, repertoire: Repertoire) -> None:
    """Print notes a second, each in 24 places: compiled on all cores, plain NumPy, plain Python."""
    notes, low = len(repertoire.notes) * LANES, lowest_reed(BASE)
    job = job_of(SPACE, repertoire, COSTS)
    work, families = ThreadWork(job), every_family(SPACE, 2)
    took, found = _timed(lambda: [each for _, each in work.search(families, 2**61)])
    in_families = notes * sum(each.tried for each in found) / took
    sets = np.concatenate([each.sets for each in found])
    each_anew = Families(sets[:, :2].copy(), job.problem.states(sets[:, :2], sets[:, 2:]))
    took, _ = _timed(lambda: list(work.search(each_anew, 2**61)))
    compiled = notes * len(sets) / took
    took, _ = _timed(lambda: work.totals(sets[:400]))
    exact = notes * 400 / took
    table = costs_in_twos(sounds(BASE), COSTS, low, repertoire.span + LANES)
    took, _ = _timed(lambda: [bounds_in_twos(line, table) for line in lines])
    in_numpy = notes / took
    took, plain = _timed(lambda: _played(lines[:20], low))
    print("notes evaluated a second, in millions:")
    in_python = plain / took
    rates = {
        "bounds in families, what stays the same counted in": in_families,
        "bounds, each anew": compiled, "bounds, plain NumPy": in_numpy,
        "costs at the best place": exact, "costs, plain Python": in_python,
    }  # fmt: skip
    for name, rate in rates.items():
        print(f"  {name:<52} {rate / 1e6:>12,.2f}")
    print(f"  {compiled / in_numpy:,.0f} and {exact / in_python:,.0f} times the plain forms")


def _played(lines: Lines, low: int) -> int:
    ways = sounds(BASE)
    for line in lines:
        first = low - min(step.midi for step in line)
        for lane in range(LANES):
            play(line, ways, COSTS, shift=first + lane)
    return LANES * sum(map(len, lines))


def _brute_force(repertoire: Repertoire) -> None:
    """Work every set of one and of two out, and a sample of those of three."""
    job = job_of(SPACE, repertoire, COSTS)
    work = ThreadWork(job)
    for size in (1, 2, 3):
        count = SPACE.count(size)
        keys = np.array(list(_keys(size)), np.int32)
        if size == 3:
            keys = np.random.default_rng(1).choice(keys, SAMPLE, replace=False)
        took, totals = _timed(lambda keys=keys: work.totals(keys))
        if len(keys) == count:
            print(f"brute force, {size}: {took:.2f} s for {count:,} sets; best {totals.min():,}")
        else:
            print(f"brute force, {size}: {took:.2f} s for {len(keys):,} of {count:,} sets, "
                  f"extrapolated {took * count / len(keys):,.0f} s")  # fmt: skip


def _keys(size: int) -> Iterator[tuple[int, ...]]:
    seats = {seat: n for n, seat in enumerate(BASE.seats)}
    for chosen in SPACE.sets(size):
        each = [seats[swap.seat] for swap in chosen]
        yield (*each, *(SPACE.swaps[n].index(s) for n, s in zip(each, chosen, strict=True)))


def _goals(repertoire: Repertoire, most: int) -> list[tuple[float, Round]]:
    """Search for one swap, two, ...; each time is its own, without the smaller searches before."""
    before, rounds = 0.0, []
    for size in range(most + 1):
        whole, found = min(
            (_timed(lambda size=size: search(SPACE, repertoire, COSTS, most=size)[size])
             for _ in range(1 if size > 2 else 3)), key=lambda each: each[0],
        )  # fmt: skip
        took, before = whole - before, whole
        rounds.append((whole, found))
        if size:
            _say(size, took, found)
    return rounds


def _say(size: int, took: float, found: Round) -> None:
    best = "; ".join(swap.text for swap in found.best[0].swaps)
    print(f"  {size}: {took:8.2f} s  {found.candidates:>9,} sets by {found.bounds:,} bounds, "
          f"{found.evaluated:,} worked out; best {best}, {found.best[0].cost:,}")  # fmt: skip
    if size in GOALS:
        goal, stretch = GOALS[size]
        word = "met    " if took <= goal else "NOT MET"
        more = ", the stretch too" if took <= stretch else ""
        print(f"  {word}  {goal:g} s, stretch {stretch:g} s: {took:.2f} s{more}")


def _cluster(repertoire: Repertoire, alone: list[tuple[float, Round]]) -> None:
    """Search on a cluster of two processes on this machine, beside its own threads."""
    from distributed import LocalCluster

    from combwright.playing.cluster import on_cluster

    print("a cluster of two worker processes on this machine, beside its threads:")
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        on_cluster(cluster.scheduler_address) as work,
    ):
        search(SPACE, repertoire, COSTS, most=1, work=work)  # what is compiled is loaded there
        for size, (threads, found) in islice(enumerate(alone), 2, None):
            took, there = min(
                (_timed(lambda size=size: search(SPACE, repertoire, COSTS, most=size, work=work))
                 for _ in range(1 if size > 3 else 2)), key=lambda each: each[0],
            )  # fmt: skip
            same = "the same answer and proof" if there[size] == found else "ANOTHER ANSWER"
            print(f"  up to {size}: {took:.2f} s, threads {threads:.2f} s, "
                  f"{took - threads:+.2f} s; {same}")  # fmt: skip


def _timed(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.perf_counter()
    found = work()
    return time.perf_counter() - start, found


if __name__ == "__main__":
    main()
