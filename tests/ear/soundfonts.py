"""Recordings out of a sound font: RIFF chunks, and the loops of a program's samples.

A loop that is repeated is exactly periodic; so its mean pitch is known, with a recorded colour.
Source: [sf2]. The font itself is Debian's fluid-soundfont-gm; nothing of it is kept here.
"""

import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np

FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
ACCORDION, HARMONICA = 21, 22
_INSTRUMENT, _SAMPLE = 41, 53


@dataclass(frozen=True)
class Loop:
    """A sample's loop: whole cycles of a note."""

    name: str
    samples: np.ndarray
    rate: int

    def repeated(self, seconds):
        """Return it for about so long, in whole loops."""
        times = max(1, round(seconds * self.rate / len(self.samples)))
        return np.tile(self.samples, times)


def loops(program, font=FONT):
    """Return the loops of a General MIDI program, counted from 0."""
    chunks = dict(_chunks(font))
    preset = next(
        at for at, row in enumerate(_records(chunks["phdr"], "<20sHHHIII", 38))
        if row[1:3] == (program, 0)
    )  # fmt: skip
    bags = [row[3] for row in _records(chunks["phdr"], "<20sHHHIII", 38)][preset : preset + 2]
    found = {}
    for instrument in _values(chunks["pbag"], chunks["pgen"], *bags, _INSTRUMENT):
        bags = [row[1] for row in _records(chunks["inst"], "<20sH", 22)][instrument:][:2]
        for sample in _values(chunks["ibag"], chunks["igen"], *bags, _SAMPLE):
            found[sample] = _loop(font, chunks, sample)
    return [each for each in found.values() if len(each.samples) > 1]


def _loop(font, chunks, sample):
    name, _, _, first, last, rate, *_ = _records(chunks["shdr"], "<20sIIIIIBbHH", 46)[sample]
    start, _ = chunks["smpl"]
    with font.open("rb") as file:
        file.seek(start + 2 * first)
        samples = np.frombuffer(file.read(2 * (last - first)), "<i2") / 2**15
    return Loop(name.split(b"\0")[0].decode("ascii", "replace").strip(), samples, rate)


def _chunks(font):
    """Yield the name of every chunk that is no list, with its place and bytes (not of samples)."""
    with font.open("rb") as file:
        end = font.stat().st_size
        file.seek(12)
        while file.tell() < end - 8:
            name, size = struct.unpack("<4sI", file.read(8))
            if name == b"LIST":
                file.seek(4, 1)
                continue
            place = file.tell()
            data = b"" if name == b"smpl" else file.read(size)
            yield name.decode(), (place, data)
            file.seek(place + size + size % 2)


def _records(chunk, layout, size):
    data = chunk[1]
    return [struct.unpack_from(layout, data, at) for at in range(0, len(data) - size + 1, size)]


def _values(bags, generators, first, last, kind):
    """Return what generators of a kind say in the zones from first to last."""
    edges = [row[0] for row in _records(bags, "<HH", 4)]
    rows = _records(generators, "<HH", 4)[edges[first] : edges[last]]
    return [amount for operator, amount in rows if operator == kind]
