"""Tabs and rankings: how fast tunes are engraved, and whether what is engraved is the tune.

    python -m benchmarks.tabs [--tunes 300]

Every staff is played back by the engraver itself, and its MIDI is held to the tune.
"""

import argparse
import base64
import io
import os
import random
import time
from collections.abc import Iterator, Sequence

import mido
import verovio

from benchmarks.collections import read_collections
from combwright.comb.catalogue import catalogue_layout, layout_ids
from combwright.comb.reach import sounds
from combwright.notes.keys import ORDINARY_KEYS, parse_key
from combwright.playing.costs import preset
from combwright.playing.matching import Candidate, rank
from combwright.playing.tabbing import OCTAVES, Tab, tab, way_text
from combwright.sheets.engraving import Engraver
from combwright.sheets.mei import Staff, staff_of
from combwright.sheets.tabs import TabSheet, tab_pages
from combwright.tunes.tune import WHOLE, Tune

RANKED = 1000
#: Quarters; the engraver's MIDI counts 120 to a quarter and ends notes one of them early.
NEAR = 0.03


def main(arguments: list[str] | None = None) -> None:
    """Print everything, part by part."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tunes", type=int, default=300, help="how many tunes are engraved")
    asked = parser.parse_args(arguments)
    print(f"\nTabs: {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start")
    tunes = list(read_collections().tunes)
    random.Random(2).shuffle(tunes)
    ways, costs = sounds(catalogue_layout("standard")), preset("intermediate")
    tabs = [tab(tune, ways, costs, OCTAVES) for tune in tunes[: asked.tunes]]
    _played(tabs)
    _pages(tabs)
    _ranked(tunes[:RANKED])


def _played(tabs: Sequence[Tab]) -> None:
    verovio.enableLog(verovio.LOG_OFF)
    toolkit, engraver = verovio.toolkit(), Engraver()
    right = whole = rounded = 0
    spent = 0.0
    for found in tabs:
        start = time.process_time()
        staff = staff_of(found.tune, found.shift, [way_text(way) for way in found.ways])
        lines = engraver.lines(staff, found.tune.title)
        spent += time.process_time() - start
        whole += sum(line.heads for line in lines) == len(staff.heads)
        rounded += staff.rounded
        right += _is_right(toolkit, staff, found.tune, found.shift)
    print(f"engraved: {len(tabs) / spent:,.1f} tunes a CPU s")
    print(f"all heads drawn {whole}, played back right {right}, of {len(tabs):,} "
          f"({rounded} with times rounded)")  # fmt: skip


def _is_right(toolkit: verovio.toolkit, staff: Staff, tune: Tune, shift: int) -> bool:
    toolkit.loadData(staff.mei)
    heard = list(_heard(toolkit))
    wanted = [(n.midi + shift, 4 * n.start / WHOLE, 4 * n.length / WHOLE) for n in tune.notes]
    near = 0.2 if staff.rounded else NEAR
    return len(heard) == len(wanted) and all(
        a[0] == b[0] and abs(a[1] - b[1]) < near and (staff.rounded or abs(a[2] - b[2]) < near)
        for a, b in zip(sorted(heard, key=lambda each: each[1]), wanted, strict=True)
    )


def _heard(toolkit: verovio.toolkit) -> Iterator[tuple[int, float, float]]:
    file = mido.MidiFile(file=io.BytesIO(base64.b64decode(toolkit.renderToMIDI())))
    sounding: dict[int, int] = {}
    now = 0
    for message in mido.merge_tracks(file.tracks):
        now += message.time
        if message.type == "note_on" and message.velocity:
            sounding[message.note] = now
        elif message.type in ("note_on", "note_off") and message.note in sounding:
            start = sounding.pop(message.note)
            beat = file.ticks_per_beat
            yield message.note, start / beat, (now - start) / beat


def _pages(tabs: Sequence[Tab]) -> None:
    start = time.process_time()
    pdf = tab_pages(tabs, preset("intermediate"), TabSheet("Standard, key of C"))
    took = time.process_time() - start
    size = len(pdf) / len(tabs) / 1024
    print(f"PDF: {len(tabs) / took:,.1f} tunes a CPU s, {size:,.0f} KiB a tune, contents included")


def _ranked(tunes: Sequence[Tune]) -> None:
    candidates = [
        Candidate(name, catalogue_layout(name).in_key(parse_key(key)), key)
        for name in layout_ids()
        for key in ORDINARY_KEYS
    ]
    costs = preset("intermediate")
    rank(tunes[:2], candidates[:1], costs)  # compiled, or from its cache
    start, wall = time.process_time(), time.perf_counter()
    best = rank(tunes, candidates, costs, as_written=True)[0]
    took = time.process_time() - start
    print(f"ranked: {len(candidates)} instruments for {len(tunes):,} tunes in their own keys: "
          f"{took:.1f} CPU s, {time.perf_counter() - wall:.1f} s; {best.name} in {best.key} "
          "comes first")  # fmt: skip


if __name__ == "__main__":
    main()
