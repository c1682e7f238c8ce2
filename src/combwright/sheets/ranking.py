"""A ranking of instruments as a picture: for each how many tunes it plays, how, and why not more.

There are two forms: wide for pages and screens, narrow for telephones, with type of one size.
"""

import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from combwright.playing.documents import candidate_name, hard_words
from combwright.playing.matching import LayoutFit, TuneFit
from combwright.playing.tabbing import LEGEND
from combwright.sheets.figures import counted
from combwright.sheets.look import FONT_FAMILY, INK, NEXT, PAPER, QUIET
from combwright.sheets.shares import (
    MEANINGS,
    entry_width,
    legend_entries,
    parts_of,
    patterns,
    percent,
    share_bar,
)
from combwright.sheets.svg import Value, element, label, rectangle, words
from combwright.sheets.typeset import on_one_line, shortened

_LEFT: Final[dict[str, Value]] = {"text-anchor": "start", "fill": INK}
_LETTER: Final = 0.57  # of its size, the width of a letter in a wide type of a screen
_BOLD: Final = 0.66  # the same of a bold one
_BAR: Final = 26.0


@dataclass(frozen=True, slots=True)
class _Form:
    width: float
    edge: float
    indent: float
    title: float
    #: How many lines of words stand under a bar.
    lines: int

    @property
    def room(self) -> float:
        return self.width - self.edge - self.indent

    def fits(self, text: str, size: float) -> str:
        return shortened(text, int((self.width - 2 * self.edge) / (size * _LETTER)))


_WIDE: Final = _Form(1000, 24, 64, 25.0, 1)
_NARROW: Final = _Form(400, 14, 14, 18.0, 4)


def ranking_svg(
    fits: Sequence[LayoutFit],
    tunes: int,
    *,
    as_written: bool = False,
    narrow: bool = False,
    most: int = 12,
    ground: bool = True,
) -> str:
    """Draw a ranking.

    Parameters
    ----------
    fits : sequence of LayoutFit
        At least one, the best first.
    tunes : int
        How many tunes they were ranked for.
    as_written : bool
        Whether tunes were moved by octaves only.
    narrow : bool
        Whether it is for a telephone.
    most : int
        How many are drawn; the customer's own are drawn wherever they stand.
    ground : bool
        Whether the paper's colour is painted.

    Returns
    -------
    str
        An SVG document with its title and a description in words.
    """
    form = _NARROW if narrow else _WIDE
    shown = [(n, fit) for n, fit in enumerate(fits, start=1) if n <= most or fit.own]
    title = f"How much of {counted(tunes, 'tune')} each instrument plays"
    about = " ".join(_about(n, fit, tunes) for n, fit in shown)
    mark = f"{zlib.crc32((title + about + str(narrow)).encode(errors='replace')):08x}"
    parts, y = _head(form, title, as_written, mark)
    for n, fit in shown:
        drawn, height = _row(form, y, n, fit, tunes, mark)
        parts.append(drawn)
        y += height
    if len(shown) < len(fits):
        small: dict[str, Value] = {**_LEFT, "font-size": 14.0, "fill": QUIET}
        rest = f"{counted(len(fits) - len(shown), 'instrument')} more stand below these."
        parts.append(label(form.indent, y + 6, rest, small))
        y += 24
    for n, line in enumerate(_wrapped(f"Tab: {LEGEND}", form, 13.0)):
        look: dict[str, Value] = {**_LEFT, "font-size": 13.0, "fill": QUIET}
        parts.append(label(form.edge, y + 8 + 17 * n, line, look))
        y += 17 * (n > 0)
    height = y + 24
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {form.width:g} {height:g}",
            "role": "img", "aria-labelledby": f"title-{mark} about-{mark}",
            "font-family": FONT_FAMILY,
        },
        words("title", {"id": f"title-{mark}"}, title),
        words("desc", {"id": f"about-{mark}"}, about),
        patterns(mark),
        *([rectangle(0, 0, form.width, height, {"fill": PAPER})] if ground else []),
        *parts,
    )  # fmt: skip


def _head(form: _Form, title: str, as_written: bool, mark: str) -> tuple[list[str], float]:
    y = form.edge + form.title
    look: dict[str, Value] = {**_LEFT, "font-size": form.title, "font-weight": 600}
    parts = []
    for n, line in enumerate(_wrapped(title, form, form.title)):
        y += form.title * 1.2 * (n > 0)
        parts.append(label(form.edge, y, line, look))
    how = "Tunes in their own keys, moved by octaves only." if as_written else (
        "Every tune at its best place on each."
    )  # fmt: skip
    y += 24
    parts.append(label(form.edge, y, how, {**_LEFT, "font-size": 15.0, "fill": QUIET}))
    y += 14
    x = form.edge
    for kind, meaning in MEANINGS:
        wide = entry_width(meaning)
        if x > form.edge and x + wide - 22 > form.width - form.edge:
            x, y = form.edge, y + 24
        parts.append(legend_entries(mark, x, y, kind, meaning))
        x += wide
    return parts, y + 50


def _row(
    form: _Form, y: float, place: int, fit: LayoutFit, tunes: int, mark: str
) -> tuple[str, float]:
    parts = [label(form.edge, y, f"{place}", {**_LEFT, "font-size": 20.0, "fill": QUIET})]
    name = on_one_line(candidate_name(fit).removesuffix(" (yours)"))
    x = form.edge + 40
    if fit.own:
        parts.append(_tag(x, y - 14))
        x += 68
    room = form.width - x - (220 if form.lines == 1 else form.edge)
    size = 17.0 if len(name) * 17 * _BOLD < room else 14.5
    look: dict[str, Value] = {**_LEFT, "font-size": size, "font-weight": 600}
    parts.append(label(x, y, shortened(name, int(room / (size * _BOLD))), look))
    per = f"{fit.bends_per_100:.1f} bends in 100 notes"
    if form.lines == 1:
        right: dict[str, Value] = {"text-anchor": "end", "font-size": 15.0, "fill": INK}
        parts.append(label(form.width - form.edge, y, per, right))
    counts = parts_of(fit.natural, fit.with_bends, fit.with_overbends, tunes)
    parts.append(share_bar(counts, form.indent, y + 9, form.room, _BAR, mark))
    y_words = y + 9 + _BAR + 17
    told = list(_why(fit, 2 if form.lines == 1 and not fit.easier else 1))
    lines = [" ".join(told)] if form.lines == 1 else [per + ".", *told]
    small: dict[str, Value] = {**_LEFT, "font-size": 13.5, "fill": QUIET}
    for n, line in enumerate(lines):
        room = int(form.room / (13.5 * _LETTER))
        parts.append(label(form.indent, y_words + 17 * n, shortened(line, room), small))
    own = " own" if fit.own else ""
    height = 9 + _BAR + 17 * max(1, len(lines)) + 32
    return element("g", {"class": f"instrument{own}"}, *parts), height


def _tag(x: float, y: float) -> str:
    ground = rectangle(x, y, 58, 19, {"rx": 9, "fill": NEXT})
    look: dict[str, Value] = {"fill": PAPER, "font-size": 13.0, "font-weight": 600}
    return ground + label(x + 29, y + 14, "yours", look)


def _why(fit: LayoutFit, most: int) -> Iterator[str]:
    if fit.easier:
        yield f"{counted(fit.easier, 'tune')} easier than on yours."
    if fit.hardest:
        yield f"Costs most: {'; '.join(hard_words(each) for each in fit.hardest[:most])}."
    if fit.worst:
        yield f"Worst: {'; '.join(_worst(each) for each in fit.worst[:most])}."


def _worst(found: TuneFit) -> str:
    hows = ((found.missing, "missing"), (found.overbends, "overbent"), (found.bends, "bent"))
    why = next((f"{count} {how}" for count, how in hows if count), "jumps")
    return f"{shortened(found.tune.title, 24)} ({why})"


def _about(place: int, fit: LayoutFit, tunes: int) -> str:
    counts = parts_of(fit.natural, fit.with_bends, fit.with_overbends, tunes)
    told = [
        f"{meaning} {percent(count, tunes)}"
        for (_, meaning), count in zip(MEANINGS, counts, strict=True)
        if count
    ]
    per = f"{fit.bends_per_100:.1f} bends in 100 notes"
    return f"{place}. {candidate_name(fit)}: {', '.join(told)}; {per}."


def _wrapped(text: str, form: _Form, size: float) -> list[str]:
    most = int((form.width - 2 * form.edge) / (size * _LETTER))
    lines = [""]
    for word in text.split(" "):
        if lines[-1] and len(lines[-1]) + 1 + len(word) > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
