"""Reeds swapped, as a picture: the comb with the best set in it, and what each size of set costs.

There are two forms, as of a ranking: wide with the comb, narrow for telephones without it.
"""

import zlib
from collections.abc import Sequence
from typing import Final

from combwright.comb.combs import Comb
from combwright.notes.names import note_name
from combwright.playing.swap_answer import SwapAnswer, Told
from combwright.playing.swap_sets import Swap, swapped
from combwright.sheets.drawing import comb_svg
from combwright.sheets.figures import counted
from combwright.sheets.look import BRASS, FONT_FAMILY, INK, PAPER, QUIET
from combwright.sheets.plates import bends_of_plates, plates_of_layout
from combwright.sheets.svg import Value, element, label, rectangle, words
from combwright.sheets.typeset import shortened

WIDE: Final = 1000.0
NARROW: Final = 400.0
_UNIT: Final = 100
_ROW: Final = 84.0
_BAR: Final = 22.0
_LETTER: Final = 0.57
_LEFT: Final[dict[str, Value]] = {"text-anchor": "start", "fill": INK}


def swaps_svg(answer: SwapAnswer, comb: Comb, *, narrow: bool = False) -> str:
    """Draw an answer.

    Parameters
    ----------
    answer : SwapAnswer
        What the search found.
    comb : Comb
        With a chamber for every hole of the base.
    narrow : bool
        Whether it is for a telephone: the comb is left out.

    Returns
    -------
    str
        An SVG document with its title and a description in words.
    """
    width = NARROW if narrow else WIDE
    sets = [answer.base, *(answer.of(each)[0] for each in answer.rounds if each.best)]
    best = min(sets, key=lambda told: (told.found.cost, len(told.found.swaps)))
    title = f"{answer.layout.title}: {_named(best.found.swaps)}"
    tunes = len(answer.tunes)
    about = " ".join(
        f"{_head(each)}: {_cost(each, answer.base)}, {', '.join(_facts(each, tunes))}."
        for each in sets
    )
    edge = 14.0 if narrow else 24.0
    size = 18.0 if narrow else 24.0
    look: dict[str, Value] = {**_LEFT, "font-size": size, "font-weight": 600}
    parts = [label(edge, edge + size, _short(title, width - 2 * edge, size, 0.66), look)]
    y = edge + size + 16
    if not narrow:
        drawn, high = _comb(answer, best, comb, width - 2 * edge)
        parts.append(element("g", {"transform": f"translate({edge:g} {y:g})"}, drawn))
        y += high + 22
    parts.append(_note(edge, y + 12, f"What {counted(tunes, 'tune')} cost; dashed: as it is"))
    y += 46
    for each in sets:
        lines = _lines(each, tunes, narrow=narrow)
        parts.append(_row(each, answer.base, lines, edge, y, width - 2 * edge))
        y += _ROW + 17 * (len(lines) - 1)
    height = y - 10
    mark = f"{zlib.crc32((title + about + str(narrow)).encode(errors='replace')):08x}"
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {width:g} {height:g}",
            "role": "img", "aria-labelledby": f"title-{mark} about-{mark}",
            "font-family": FONT_FAMILY,
        },
        words("title", {"id": f"title-{mark}"}, title),
        words("desc", {"id": f"about-{mark}"}, about),
        rectangle(0, 0, width, height, {"fill": PAPER}),
        *parts,
    )  # fmt: skip


def _comb(answer: SwapAnswer, best: Told, comb: Comb, width: float) -> tuple[str, float]:
    """Return the comb with the best set in it, each swapped plate framed, and its height."""
    layout = swapped(answer.layout, best.found.swaps)
    plates = plates_of_layout(layout)
    framed = {
        (swap.seat.hole, swap.seat.deck): f"was {note_name(swap.seat.midi)}"
        for swap in best.found.swaps
    }
    drawn = comb_svg(
        comb, plates, bends=bends_of_plates(plates), framed=framed, next_word="swapped",
        width=width, ground=False, deck_height=110.0,
    )  # fmt: skip
    height = float(drawn.partition(' height="')[2].partition('"')[0])
    return drawn, height


def _row(told: Told, base: Told, lines: Sequence[str], x: float, y: float, width: float) -> str:
    cost, most = told.found.cost, max(base.found.cost, 1)
    look: dict[str, Value] = {**_LEFT, "font-size": 16.0, "font-weight": 600}
    small: dict[str, Value] = {**_LEFT, "font-size": 13.5, "fill": QUIET}
    parts = [label(x, y, _short(_head(told), width, 16.0, 0.66), look)]
    outline: dict[str, Value] = {
        "fill": PAPER, "stroke": QUIET, "stroke-width": 1.4, "stroke-dasharray": "5 3",
        "class": "before",
    }  # fmt: skip
    parts.append(rectangle(x, y + 8, width, _BAR, outline))
    fill: dict[str, Value] = {"fill": BRASS, "stroke": INK, "stroke-width": 1.2, "class": "cost"}
    wide = width * min(cost / most, 1.0)
    parts.append(rectangle(x, y + 8, max(wide, 1.0), _BAR, fill))
    text = _cost(told, base)
    parts.append(_on_bar(x + 8, y + 8, text))
    for n, line in enumerate(lines):
        low = y + 8 + _BAR + 18 + 17 * n
        parts.append(label(x, low, _short(line, width, 13.5, _LETTER), small))
    return element("g", {"class": "set"}, *parts)


def _on_bar(x: float, y: float, text: str) -> str:
    ground = rectangle(x, y + 2.5, 7.6 * len(text) + 10, _BAR - 5, {"rx": 4, "fill": PAPER})
    look: dict[str, Value] = {**_LEFT, "font-size": 13.5, "font-weight": 600}
    return ground + label(x + 5, y + 15.8, text, look)


def _note(x: float, y: float, text: str) -> str:
    look: dict[str, Value] = {**_LEFT, "font-size": 15.0, "fill": QUIET}
    return label(x, y, text, look)


def _named(swaps: Sequence[Swap]) -> str:
    if not swaps:
        return "no swap makes it better"
    return f"{counted(len(swaps), 'reed')} swapped"


def _head(told: Told) -> str:
    swaps = told.found.swaps
    if not swaps:
        return "As it is"
    return f"{len(swaps)} swapped: {'; '.join(swap.text for swap in swaps)}"


def _cost(told: Told, base: Told) -> str:
    cost, before = told.found.cost, base.found.cost
    text = f"{cost / _UNIT:,.1f}"
    if cost == before or not before:
        return text
    share = abs(before - cost) / before
    return f"{text}, {share:.1%} {'less' if cost < before else 'more'}"


def _lines(told: Told, tunes: int, *, narrow: bool) -> list[str]:
    facts = _facts(told, tunes)
    return facts if narrow else ["; ".join(facts)]


def _facts(told: Told, tunes: int) -> list[str]:
    found = told.standing
    facts = [
        f"{found.natural / tunes:.1%} of tunes with natural notes alone",
        f"{found.bends_per_100:.2f} bends in 100 notes",
    ]
    if found.missing:
        facts.append(f"{found.missing:,} notes missing")
    return facts


def _short(text: str, width: float, size: float, letter: float) -> str:
    return shortened(text, int(width / (size * letter)))
