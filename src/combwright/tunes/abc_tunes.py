"""ABC files: where each tune stands in its file, its fields, and its lines of music."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from combwright.files.results import one_line
from combwright.tunes.abc_music import Music
from combwright.tunes.pace import step
from combwright.tunes.tune import BadTune, Reading, Tune
from combwright.tunes.unfolding import Event, unfold

_FIELD: Final = re.compile(r"([A-Za-z+]):(.*)")
#: In the music a line that begins so is no field but a note or a rest before a bar.
_NO_FIELD: Final = re.compile(r"[A-Ga-gx-zXZ]:\s*([|:\]]|$)")
#: Text to be printed or a picture, up to the line that ends it.
_BLOCK: Final = re.compile(r"%%\s*begin(\w+)")
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
        step()
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
    in_head = True  # up to the first empty line
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
        elif in_head and not raws:
            in_head = not head or bool(line.strip())
            if line[:2] == "%%" or (_FIELD.match(line) and line[0] != "K"):
                head.append((row, line))
    return head, raws


def _tune(head: list[tuple[int, str]], raw: _Raw, title: str, source: str) -> Tune:
    if sum(len(line) for _, line in raw.lines) > _MOST_LETTERS:
        raise BadTune(f"it has more than {_MOST_LETTERS:,} letters; part it into tunes")
    music = Music()
    order = _fields_and_lines(music, [*head, *raw.lines])
    if not music.body:
        raise BadTune("it has no K: line, so its music never begins")
    music.end()
    played = unfold([event for part in _order(order, music) for event in (*part, Event("double"))])
    if not played.notes:
        raise BadTune("it has no notes")
    remarks = (*music.remarks.values(), *played.remarks)
    return Tune(title, played.notes, source, remarks, played.bars, music.fifths, music.metre)


def _fields_and_lines(music: Music, lines: list[tuple[int, str]]) -> str:
    """Hand the lines of a tune to its music; return the order of its parts, "" where none is."""
    order = last = ""
    block: str | None = None  # the word of a block of text that is skipped
    for row, line in lines:
        if block is not None or (block := _begun(line)) is not None:
            if re.match(rf"%%\s*end{block}", line):
                block = None
        elif line.startswith("%"):
            if line.startswith("%%"):
                music.directive(line[2:])
        elif (found := _FIELD.match(line)) and not (music.body and _NO_FIELD.match(line)):
            letter = last if found[1] == "+" else found[1]
            if letter == "P" and not music.body:
                order = found[2].split("%", 1)[0]
            music.field(letter, found[2], row)
            last = letter
        elif music.body:
            music.line(line, row)
    return order


def _begun(line: str) -> str | None:
    found = _BLOCK.match(line) if line.startswith("%%") else None
    return found[1] if found else None


def _order(text: str, music: Music) -> Iterator[list[Event]]:
    """Yield the parts in the order in which they are played; as they stand where none is given."""
    by_name: dict[str, list[Event]] = {}
    for name, events in music.parts[1:]:
        by_name.setdefault(name, []).extend(events)
    wanted = [name for name in _unfolded(_PARTS.findall(text)) if name in by_name]
    if wanted:
        unheard = sorted(set(by_name) - set(wanted))
        if unheard:
            music.remarks["part"] = f"part {', '.join(unheard)} is not in the P: line and not heard"
        yield music.parts[0][1]
        yield from (by_name[name] for name in wanted)
    else:
        yield from (events for _, events in music.parts)


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
