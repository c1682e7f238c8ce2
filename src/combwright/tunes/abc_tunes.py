"""ABC files: where each tune stands in its file, its fields, and its lines of music."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from combwright.files.results import one_line
from combwright.tunes.abc_music import Music
from combwright.tunes.tune import BadTune, Reading, Tune
from combwright.tunes.unfolding import Event, unfold

_FIELD: Final = re.compile(r"([A-Za-z+]):(.*)")
_PARTS: Final = re.compile(r"\(|\)|[A-Z]|\d{1,2}")
_MOST_PARTS: Final = 500
_MOST_TUNES: Final = 100_000
#: Of one tune; the longest that anybody plays has a few thousand.
_MOST_LETTERS: Final = 300_000


@dataclass(slots=True)
class _Raw:
    """The lines of one tune, each with its row in the file."""

    row: int
    lines: list[tuple[int, str]] = field(default_factory=list)


def read_abc(text: str, name: str) -> Reading:
    """Read every tune of an ABC file.

    Parameters
    ----------
    text : str
        The whole file.
    name : str
        Of the file, for messages.

    Returns
    -------
    Reading
        A fault is one line that names file, row and title.
    """
    tunes, faults = [], []
    head, raws = _parted(text)
    for raw in raws:
        title = one_line(next((t[2:] for _, t in raw.lines if t.startswith("T:")), "").strip())
        source = f"{name}, row {raw.row}"
        try:
            tunes.append(_tune(head, raw, title or source, source))
        except BadTune as error:
            called = f", {title!r}" if title else ""
            faults.append(one_line(f"{source}{called}: {error}."))
    if not raws:
        faults.append(
            f"{name}: no tune begins here; in ABC each begins with a line X: and a number."
        )
    return Reading(tuple(tunes), tuple(faults))


def _parted(text: str) -> tuple[list[tuple[int, str]], list[_Raw]]:
    """Part a file into the fields before its first tune, and its tunes."""
    head: list[tuple[int, str]] = []
    raws: list[_Raw] = []
    current: _Raw | None = None
    for row, line in enumerate(re.split(r"\r\n|\r|\n", text), start=1):
        if line.startswith("X:"):
            current = _Raw(row)
            raws.append(current)
            if len(raws) > _MOST_TUNES:
                break
        elif not line.strip():
            current = None
        if current is not None:
            current.lines.append((row, line))
        elif not raws and _FIELD.match(line):
            head.append((row, line))
    return head, raws


def _tune(head: list[tuple[int, str]], raw: _Raw, title: str, source: str) -> Tune:
    if sum(len(line) for _, line in raw.lines) > _MOST_LETTERS:
        raise BadTune(f"it has more than {_MOST_LETTERS:,} letters; part it into tunes")
    music = Music()
    order = ""
    last = ""
    for row, line in [*head, *raw.lines]:
        if line.startswith("%%"):
            music.directive(line[2:])
            continue
        found = _FIELD.match(line)
        if found and not (found[1] in "ABCDEFGabcdefg" and music.body):
            letter = last if found[1] == "+" else found[1]
            if letter == "P" and not music.body:
                order = found[2].split("%", 1)[0]
            music.field(letter, found[2], row)
            last = letter
        elif music.body and not line.startswith("%"):
            music.line(line, row)
    if not music.body:
        raise BadTune("it has no K: line, so its music never begins")
    played = [[*music.parts[part], Event("double")] for part in _order(order, music)]
    bars: list[int] = []
    notes = unfold([event for part in played for event in part], bars)
    if not notes:
        raise BadTune("it has no notes")
    return Tune(
        title, notes, source, tuple(music.remarks.values()), tuple(bars), music.fifths, music.metre
    )


def _order(text: str, music: Music) -> Iterator[str]:
    """Yield the parts in the order in which they are played."""
    named = [part for part in music.parts if part]
    wanted = _unfolded(_PARTS.findall(text)) if named else ""
    wanted = "".join(part for part in wanted if part in music.parts)
    yield ""  # what stands before the first part
    yield from wanted or named


def _unfolded(marks: list[str]) -> str:
    stack = [""]
    last = ""
    for mark in marks:
        if mark == "(":
            stack.append("")
            last = ""
        elif mark.isdigit():
            stack[-1] += last * max(0, min(int(mark), 50) - 1)
            last = ""
        elif mark == ")":
            last = stack.pop() if len(stack) > 1 else ""
            stack[-1] += last
        else:
            last = mark
            stack[-1] += mark
        if sum(map(len, stack)) > _MOST_PARTS:
            raise BadTune(f"its P: line plays more than {_MOST_PARTS} parts")
    return "".join(stack)
