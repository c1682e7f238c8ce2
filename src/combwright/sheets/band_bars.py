"""Third octaves drawn as bars around zero."""

from collections.abc import Sequence
from typing import Final

from combwright.sheets.figures import MINUS
from combwright.sheets.intervals import HEAD
from combwright.sheets.look import BRASS, INK, QUIET
from combwright.sheets.svg import Value, element, label, rectangle

#: As bands are called; their exact middles are powers of ten.
NOMINAL: Final = (
    "200", "250", "315", "400", "500", "630", "800", "1k", "1.25k", "1.6k", "2k", "2.5k", "3.15k",
    "4k", "5k", "6.3k", "8k", "10k", "12.5k", "16k",
)  # fmt: skip
_LEAST_REACH_DB: Final = 3.0
_HEAD, _FOOT = 34.0, 40.0


def band_bars(
    means_db: Sequence[float | None], x: float, y: float, width: float, height: float
) -> str:
    """Draw the mean difference of each band from 200 Hz to 16 kHz; nothing where none is heard."""
    heard = [abs(value) for value in means_db if value is not None]
    reach = max(_LEAST_REACH_DB, *heard) if heard else _LEAST_REACH_DB
    top, bottom = y + _HEAD, y + height - _FOOT
    middle, scale = (top + bottom) / 2, (bottom - top) / 2 / reach
    words = "Third octaves of B over A, equally loud, mean of the notes that reach them"
    parts = [label(x + width / 2, y + 16, words, HEAD)]
    small: dict[str, Value] = {"font-size": 12.5, "fill": QUIET}
    for value in (-reach, 0.0, reach):
        at = middle - scale * value
        look: dict[str, Value] = {"stroke": QUIET, "stroke-width": 1.0 if value == 0 else 0.4}
        parts.append(element("line", {"x1": x, "y1": at, "x2": x + width, "y2": at, **look}))
        text = "0 dB" if value == 0 else f"{value:+.1f}".replace("-", MINUS)
        parts.append(label(x - 8, at + 4, text, {**small, "text-anchor": "end"}))
    step = width / len(NOMINAL)
    for n, name in enumerate(NOMINAL):
        left = x + step * n
        parts.append(label(left + step / 2, bottom + 18, name, small))
        value_db = means_db[n] if n < len(means_db) else None
        if value_db is not None:
            parts.append(_bar(left + 0.18 * step, 0.64 * step, middle, scale * value_db))
    parts.append(label(x + width / 2, bottom + 36, "Hz", small))
    return element("g", {"class": "bands"}, *parts)


def _bar(x: float, width: float, zero: float, up: float) -> str:
    look: dict[str, Value] = {"fill": BRASS, "stroke": INK, "stroke-width": 0.8, "class": "band"}
    return rectangle(x, min(zero, zero - up), width, abs(up), look)
