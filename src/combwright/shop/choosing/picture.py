"""How a repertoire lies under an instrument, as a bar that is read at a glance.

The share of tunes that natural notes are enough for stands full height; a step down, those that
need bends too; another step down, those that need overbends. What is not reached stays empty. The
same stands in words beside it.
"""

from collections.abc import Mapping
from typing import Any, Final

from django.utils.safestring import SafeString, mark_safe

from combwright.sheets.svg import element, rectangle

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
