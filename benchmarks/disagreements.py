"""Why another reader hears a tune differently, found by trial.

Each reason is a change to the text of a tune. Where both readers agree once it is made, what it
took away was all they differed in. `docs/readers.md` says who is right, and by which words of the
standard.
"""

import re
from collections.abc import Callable
from itertools import pairwise, permutations
from typing import Final, NamedTuple

from benchmarks.oracles import by_us, verdict
from combwright.tunes.tune import Tune

Change = Callable[[str], str]
_BAR: Final = re.compile(r"\[\|\]|\[?[:|]*\|[|\]:]*|\[?::+")


class Reason(NamedTuple):
    """One way in which readers differ.

    Parameters
    ----------
    name : str
        For the report.
    ours, theirs : function
        What is done to the text before either reads it.
    """

    name: str
    ours: Change
    theirs: Change


def _same(text: str) -> str:
    return text


def _octaves(text: str) -> str:
    return text.replace("K:", "%%propagate-accidentals octave\nK:", 1)


def _no_order(text: str) -> str:
    head, key, music = text.partition("\nK:")
    return re.sub(r"^P:.*\n", "", head, flags=re.MULTILINE) + key + music


def _single_bars(text: str) -> str:
    """Make every double bar that begins or ends no repeat a single one."""
    return _in_music(text, lambda bar: "|" if ":" not in bar and bar != "[|]" else bar)


def _written_starts(text: str) -> str:
    """Write a start where a repeat goes back to a place without one."""
    head, key, music = text.partition("\nK:")
    at = music.index("\n") + 1
    bars = list(_BAR.finditer(music, at))
    places, border, opened = [], at, False
    for found in bars:
        bar = found[0]
        if bar.startswith(":") or "::" in bar:
            if not opened:
                places.append(border)
            border, opened = found.end(), bar.endswith(":")
        elif bar.endswith(":"):
            opened = True
        elif (
            len(bar) > 1 and bar != "[|]" and not opened and not music[found.end() :][:1].isdigit()
        ):
            border = found.end()
    cuts = [0, *places, len(music)]
    return head + key + "|:".join(music[a:b] for a, b in pairwise(cuts))


def _no_broken(text: str) -> str:
    return _lines_of_music(text, lambda line: re.sub(r"[<>]", "", line))


def _twos(text: str) -> str:
    """Say how many notes (5, (7 and (9 take the time of."""
    return _lines_of_music(text, lambda line: re.sub(r"\(([579])(?![:\d])", r"(\1:2:\1", line))


def _no_close(text: str) -> str:
    """End a second ending with a double bar where it ends with a sign of repeat."""
    return re.sub(r"(:\|\s*\[?2(?:[^:]|:(?!\|))*):\|", r"\1|]", text)


def _no_invisible(text: str) -> str:
    return text.replace("[|]", "")


def _one_line(text: str) -> str:
    """Join all lines of the music, as if none had been broken by a mail program."""
    head, key, music = text.partition("\nK:")
    first, line, rest = music.partition("\n")
    joined = re.sub(r"\\?\s*\n(?![A-Za-z]:)", "", rest)
    return head + key + first + line + joined + "\n"


def _first_voice(text: str) -> str:
    """Leave only the voice that we read."""
    names = re.findall(r"\[?V:\s*([^\s\]]+)", text)
    kept, here = [], True
    for line in text.split("\n"):
        found = re.match(r"\[?V:\s*([^\s\]]+)\]?", line)
        if found:
            here = found[1] == names[0]
            line = line[found.end() :] if line[0] == "[" else ""
        if here and line.strip():
            kept.append(line)
    return "\n".join(kept) + "\n"


def _no_labels(text: str) -> str:
    return re.sub(r"\[P:[^\]]*\]|^P:.*\n", "", text, flags=re.MULTILINE)


def _lines_of_music(text: str, change: Change) -> str:
    head, key, music = text.partition("\nK:")
    first, line, rest = music.partition("\n")
    return head + key + first + line + change(rest)


def _in_music(text: str, change: Change) -> str:
    return _lines_of_music(text, lambda rest: _BAR.sub(lambda found: change(found[0]), rest))


REASONS: Final = (
    Reason("an accidental holds in all octaves", _octaves, _same),
    Reason("the P: line gives the order of parts", _no_order, _no_order),
    Reason("a repeat without a start goes back to a double bar", _single_bars, _same),
    Reason("a repeat without a start", _written_starts, _written_starts),
    Reason("a last ending that ends with a sign of repeat", _no_close, _no_close),
    Reason("an invisible bar at a sign of repeat", _no_invisible, _no_invisible),
    Reason("broken rhythm between unequal notes", _no_broken, _no_broken),
    Reason("(5, (7 or (9 in a simple metre", _twos, _twos),
    Reason("what a line's end cuts", _one_line, _one_line),
    Reason("several voices", _first_voice, _first_voice),
)


def reason(text: str, read: Callable[[str], Tune | None]) -> str:
    """Return what a tune has to lose before both readers agree; "" where nothing helps."""
    for each in REASONS:
        if _agree(each.ours(text), each.theirs(text), read):
            return each.name
    for one, other in permutations(REASONS, 2):
        if _agree(other.ours(one.ours(text)), other.theirs(one.theirs(text)), read):
            return f"{one.name}; {other.name}"
    return ""


def _agree(ours: str, theirs: str, read: Callable[[str], Tune | None]) -> bool:
    return verdict(by_us(ours), read(theirs)) == "same"
