"""How far each reed is off its target, as bars around zero, hole by hole.

A bar that is out of tolerance is filled and carries a wedge that points where the reed must go; one
within is hollow. So it reads without colour; the page that shows it gives the colours by class.
"""

import itertools
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from combwright.comb.seats import Breath
from combwright.sheets.figures import signed
from combwright.sheets.svg import element, label, rectangle, words

_LEFT, _TOP, _HEIGHT, _FOOT = 52.0, 22.0, 240.0, 62.0
_BAR, _NEXT, _GAP = 20.0, 27.0, 14.0
_CAP: Final = 5.0
#: Half the height of the picture is the first of these cents that all bars fit into.
_SCALES: Final = (5, 10, 20, 30, 50, 80, 120, 200)


@dataclass(frozen=True, slots=True)
class Bar:
    """A seat and what was heard of it.

    Parameters
    ----------
    hole : int
        From 1.
    breath : {"blow", "draw"}
        On which it speaks.
    cents : float or None
        How far above its target; None where nothing was heard.
    half : float
        Half the width in which the truth lies, in cents.
    before : float or None
        Where it was before; drawn as an outline.
    out, unsure : bool
        Whether it is out of tolerance, and whether it may be another seat's note.
    mark : str
        Stands in the place of a bar that has no cents.
    """

    hole: int
    breath: Breath
    cents: float | None
    half: float = 0.0
    before: float | None = None
    out: bool = False
    unsure: bool = False
    mark: str = "×"


def bars_svg(bars: Sequence[Bar], *, tolerance: float, title: str, about: str) -> str:
    """Draw bars around zero.

    Parameters
    ----------
    bars : sequence of Bar
        In the order of the comb; those of one hole stand close together.
    tolerance : float
        How far off a reed may stay, in cents: the band.
    title, about : str
        Read out as the picture's name and description.

    Returns
    -------
    str
        An SVG element whose colours come from classes.
    """
    scale = _Scale(_half_height(bars, tolerance))
    places = list(_places(bars))
    right = (places[-1] if places else _LEFT) + _BAR + _GAP
    mark = f"{zlib.crc32((title + about).encode(errors='replace')):08x}"
    return element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg", "class": "bars", "role": "img",
            "viewBox": f"0 0 {right:g} {_TOP + _HEIGHT + _FOOT:g}",
            "width": right, "height": _TOP + _HEIGHT + _FOOT,
            "aria-labelledby": f"bars-{mark}", "aria-describedby": f"about-{mark}",
        },
        words("title", {"id": f"bars-{mark}"}, title),
        words("desc", {"id": f"about-{mark}"}, about),
        *_ground(scale, right, tolerance),
        *(_bar(x, each, scale) for x, each in zip(places, bars, strict=True)),
        *_names(places, bars),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Scale:
    most: float

    def y(self, cents: float) -> float:
        """Return how low a value lies; one beyond the picture lies at its edge."""
        kept = max(-self.most, min(self.most, cents))
        return _TOP + _HEIGHT * (1 - kept / self.most) / 2


def _half_height(bars: Sequence[Bar], tolerance: float) -> float:
    reach = [1.5 * tolerance]
    reach += [abs(each.cents) + each.half for each in bars if each.cents is not None]
    reach += [abs(each.before) for each in bars if each.before is not None]
    # A whisker's end and a wedge want a little room.
    wanted = 1.15 * max(reach)
    return float(next((each for each in _SCALES if each >= wanted), _SCALES[-1]))


def _places(bars: Sequence[Bar]) -> Iterator[float]:
    x = _LEFT + _GAP
    for index, each in enumerate(bars):
        if index:
            x += _NEXT if bars[index - 1].hole == each.hole else _NEXT + _GAP
        yield x


def _ground(scale: _Scale, right: float, tolerance: float) -> Iterator[str]:
    top, foot = scale.y(tolerance), scale.y(-tolerance)
    yield rectangle(_LEFT, top, right - _LEFT, foot - top, {"class": "band"})
    for cents in (scale.most, scale.most / 2, 0.0, -scale.most / 2, -scale.most):
        y = scale.y(cents)
        path = {"d": f"M{_LEFT:g} {y:.1f}H{right:g}", "class": "line" if cents else "zero"}
        yield element("path", path)
        yield label(_LEFT - 6, y + 4.5, signed(cents), {"text-anchor": "end"})


def _bar(x: float, bar: Bar, scale: _Scale) -> str:
    middle = x + _BAR / 2
    parts = []
    if bar.before is not None:
        parts.append(_column(x - 3, _BAR + 6, bar.before, scale, "before"))
    if bar.cents is None:
        parts.append(label(middle, scale.y(0) + 5, bar.mark, {"class": "unheard"}))
        return element("g", {"class": "seat"}, *parts)
    parts.append(_column(x, _BAR, bar.cents, scale, "bar out" if bar.out else "bar"))
    parts.append(_whisker(middle, bar, scale))
    outward = scale.y(bar.cents + bar.half) if bar.cents > 0 else scale.y(bar.cents - bar.half)
    if bar.out:
        parts.append(_wedge(middle, outward, down=bar.cents > 0))
    if bar.unsure:
        away = outward - 14 if bar.cents > 0 else outward + 24
        parts.append(label(middle, away, "?", {"class": "unsure"}))
    return element("g", {"class": "seat"}, *parts)


def _column(x: float, width: float, cents: float, scale: _Scale, name: str) -> str:
    ends = sorted((scale.y(0), scale.y(cents)))
    return rectangle(x, ends[0], width, max(1.0, ends[1] - ends[0]), {"class": name})


def _whisker(x: float, bar: Bar, scale: _Scale) -> str:
    cents = bar.cents or 0.0
    top, foot = scale.y(cents + bar.half), scale.y(cents - bar.half)
    caps = f"M{x - _CAP:g} {top:.1f}h{2 * _CAP:g}M{x - _CAP:g} {foot:.1f}h{2 * _CAP:g}"
    return element("path", {"d": f"M{x:g} {top:.1f}V{foot:.1f}{caps}", "class": "whisker"})


def _wedge(x: float, y: float, *, down: bool) -> str:
    """Draw a wedge beyond the bar's end, which points back to zero: where the reed must go."""
    foot, tip = (y - 12, y - 4) if down else (y + 12, y + 4)
    path = f"M{x - 6:g} {foot:.1f}H{x + 6:g}L{x:g} {tip:.1f}Z"
    return element("path", {"d": path, "class": "wedge"})


def _names(places: Sequence[float], bars: Sequence[Bar]) -> Iterator[str]:
    y = _TOP + _HEIGHT + 20
    for x, each in zip(places, bars, strict=True):
        turn = f"rotate(-90 {x + _BAR / 2 + 4.5:g} {y + 14:g})"
        yield label(x + _BAR / 2 + 4.5, y + 14, each.breath, {"transform": turn, "class": "breath"})
    for hole, seats in itertools.groupby(zip(places, bars, strict=True), lambda s: s[1].hole):
        xs = [x for x, _ in seats]
        middle = (xs[0] + xs[-1] + _BAR) / 2
        yield label(middle, y + 40, str(hole), {"class": "hole"})
