"""Answers as pictures: whole ones to look at and print, and a bar for each row of a ranking.

In a bar the share of tunes that natural notes are enough for stands full height; a step down, those
that need bends too; another step down, those that need overbends. What is not reached stays empty.
Whatever is drawn stands in words too.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from django.utils.safestring import SafeString, mark_safe

from combwright.comb.combs import Comb
from combwright.playing.matching import LayoutFit
from combwright.playing.swap_answer import SwapAnswer
from combwright.sheets.ranking import ranking_svg
from combwright.sheets.svg import element, rectangle
from combwright.sheets.swaps import swaps_svg

_WIDE, _HIGH = 100.0, 12.0
#: From the whole tune in natural notes down: what a row calls it, its class, and its height.
_STEPS: Final = (
    ("natural", "natural", 12.0),
    ("with_bends", "bent", 8.0),
    ("with_overbends", "over", 4.0),
)


def bar(row: Mapping[str, Any], tunes: int) -> SafeString:
    """Return the bar of one row of a ranking; what it shows is said in words beside it."""
    parts, reached = [], 0.0
    for name, look, high in _STEPS:
        share = _WIDE * row[name] / tunes
        if share > reached:
            parts.append(rectangle(reached, _HIGH - high, share - reached, high, {"class": look}))
        reached = max(reached, share)
    svg = element(
        "svg",
        {"class": "share", "viewBox": f"0 0 {_WIDE:g} {_HIGH:g}", "preserveAspectRatio": "none",
         "aria-hidden": "true", "focusable": "false"},
        *parts,
    )  # fmt: skip
    return mark_safe(svg)  # every value in a drawing is escaped by sheets.svg


def ranking_pictures(
    fits: Sequence[LayoutFit], names: Mapping[str, str], tunes: int, *, as_written: bool
) -> tuple[str, str]:
    """Draw a ranking for a page and for a telephone; `names` says what each row is called."""
    named = [replace(fit, name=names[fit.name]) for fit in fits]
    wide, narrow = (
        ranking_svg(named, tunes, as_written=as_written, narrow=each) for each in (False, True)
    )
    return wide, narrow


def swaps_pictures(answer: SwapAnswer, comb: Comb) -> tuple[str, str]:
    """Draw the best swaps for a page and for a telephone; nothing where the comb is too short."""
    if any(seat.hole > comb.holes for seat in answer.layout.seats):
        return "", ""
    return swaps_svg(answer, comb), swaps_svg(answer, comb, narrow=True)
