"""Tunes: the reader, the trade's claim, and the swap search.

    python -m benchmarks.tunes [--swaps 3]

Times are those of this machine at this load.
"""

import os
import time
from collections.abc import Iterator

from benchmarks import swapping
from benchmarks.claim import BENDS, CLAIMED, CLAIMED_BENDS, POINTS, measured, measured_bends
from benchmarks.collections import ALL, read_collections, texts
from combwright.tunes.abc_tunes import read_abc
from combwright.tunes.tune import Tune


def main(arguments: list[str] | None = None) -> None:
    """Print everything, part by part."""
    load = os.getloadavg()[0]
    print(f"\nTunes: {os.cpu_count()} cores, load {load:.1f} at the start")
    tunes = list(_reading())
    _claim(tunes)
    swapping.main(arguments, tunes)


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


def _verdict(goal: str, measured_text: str, met: bool) -> None:
    print(f"  {'met    ' if met else 'NOT MET'}  {goal}: {measured_text}")


if __name__ == "__main__":
    main()
