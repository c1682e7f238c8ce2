"""Two readers of ABC that are not ours, and what each makes of a tune.

abc2midi is Debian's (package abcmidi), lytk a package for development alone. Both play what we
leave out of a melody, so graces, decorations and words are taken from the text first. Both write
MIDI, which our own reader of MIDI reads: it is tried at the same time.
"""

import re
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Final, Literal, NamedTuple

import lytk

from combwright.tunes.abc_tunes import read_abc
from combwright.tunes.midi_files import read_midi
from combwright.tunes.tune import WHOLE, Tune, TuneNote

Verdict = Literal["same", "times", "pitches", "not read"]
#: Two times this near are one: MIDI counts in whole ticks, and abc2midi begins notes one late.
NEAR: Final = WHOLE // 200
_ORNAMENTS: Final = re.compile(
    r"""(\[[A-Za-z]:[^\]\n]*\]) | "[^"\n]*" | \{[^}\n]*\} | ![^!\s]*! | [.~H-Wh-w] | y\d*""",
    re.VERBOSE,
)
_FIELD: Final = re.compile(r"([A-Za-z]):(?!\|)")
_KEPT: Final = "XTMLKPV"
_BATCH: Final = 200


class Alone(NamedTuple):
    """One tune of a book by itself."""

    book: str
    row: int
    text: str

    @property
    def title(self) -> str:
        """Its first title."""
        found = re.search(r"^T:\s*(.*?)\s*$", self.text, re.MULTILINE)
        return found[1] if found else ""


def alone(name: str, text: str) -> list[Alone]:
    """Part a book into its tunes, [abc] section 2.2."""
    found = []
    for each in re.finditer(r"^X:.*?(?=^\s*$|^X:|\Z)", text, re.MULTILINE | re.DOTALL):
        found.append(Alone(name, text.count("\n", 0, each.start()) + 1, each[0].strip() + "\n"))
    return found


def plain(text: str) -> str:
    """Return a tune without what a melody does not hold, its chords struck at once."""
    lines: list[str] = []
    body = False
    for line in text.split("\n"):
        field = _FIELD.match(line)
        if field and not (body and field[1] in "ABCDEFGabcdefg"):
            if field[1] == "K" and not body:
                body = True
                lines.append("%%MIDI chordattack 0")
            if field[1] in _KEPT:
                lines.append(line)
        elif body and not line.startswith("%"):
            lines.append(_ORNAMENTS.sub(lambda found: found[1] or "", line))
    return "\n".join(line for line in lines if line.strip()) + "\n"


def by_us(text: str) -> Tune | None:
    """Read a tune as we do."""
    return next(iter(read_abc(text, "tune.abc").tunes), None)


def by_lytk(text: str) -> Tune | None:
    """Read a tune as lytk does; None where it gives up."""
    try:
        played = lytk.to_midi_bytes(lytk.from_abc_string(text))
    except lytk.LytkError:
        return None
    return next(iter(read_midi(played, "lytk").tunes), None)


def by_abc2midi(texts: Sequence[str]) -> list[Tune | None]:
    """Read tunes as abc2midi does; one that ends it is tried again by itself."""
    found: list[Tune | None] = []
    for at in range(0, len(texts), _BATCH):
        some = texts[at : at + _BATCH]
        read = _abc2midi(some)
        found += [
            tune if tune or len(some) == 1 else _abc2midi([text])[0]
            for tune, text in zip(read, some, strict=True)
        ]
    return found


def _abc2midi(texts: Sequence[str]) -> list[Tune | None]:
    numbered = [re.sub(r"^X:.*", f"X:{n}", text) for n, text in enumerate(texts, start=1)]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "t.abc").write_text("\n".join(numbered))
        command = ["abc2midi", "t.abc", "-silent"]
        subprocess.run(command, cwd=folder, check=False, capture_output=True)
        files = [folder / f"t{n}.mid" for n in range(1, len(texts) + 1)]
        played = [file.read_bytes() if file.exists() else b"" for file in files]
    return [next(iter(read_midi(data, "abc2midi").tunes), None) for data in played]


def verdict(ours: Tune | None, theirs: Tune | None) -> Verdict:
    """Compare two readings: pitches in order, then when each note begins and how long it is."""
    if ours is None or theirs is None:
        return "not read"
    if ours.pitches != theirs.pitches:
        return "pitches"
    same = all(_near(a, b) for a, b in zip(ours.notes, theirs.notes, strict=True))
    return "same" if same else "times"


def _near(a: TuneNote, b: TuneNote) -> bool:
    return abs(a.start - b.start) <= NEAR and abs(a.length - b.length) <= NEAR
