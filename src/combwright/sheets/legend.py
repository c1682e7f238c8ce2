"""The legend below a drawing: only the marks that stand in it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from combwright.sheets import marks
from combwright.sheets.look import BRASS, INK
from combwright.sheets.svg import Value, element, label

_ROW: Final = 30.0
_LETTER: Final = 7.0  # about the width of a letter at the size below; decides where rows break
_SIZE: Final = 14.5
_GAP: Final = 24.0
_WIDE_SYMBOL: Final = 34.0
_SLIM_SYMBOL: Final = 24.0
_SLIM: Final = ("in", "out", "rivet")


@dataclass(frozen=True, slots=True)
class Shown:
    """Which marks a drawing holds."""

    facing_in: bool = False
    facing_out: bool = False
    rivets: bool = False
    stairs: bool = False
    next: bool = False
    missing: bool = False
    empty: bool = False
    next_word: str = "next"
    retunes: bool = False

    def entries(self) -> Iterator[tuple[str, str]]:
        """List the marks shown, each with what it means."""
        if self.facing_in:
            yield "in", "filled: facing in, blow"
        if self.facing_out:
            yield "out", "outlined: facing out, draw"
        if self.rivets:
            yield "rivet", "rivet: mounted end"
        if self.stairs:
            yield "stair", "stair: bends, in semitones"
        if self.next:
            yield "next", f"frame: {self.next_word} seat"
        if self.missing:
            yield "missing", "hatched: plate missing"
        if self.empty:
            yield "empty", "dotted: empty seat"
        if self.retunes:
            yield "retune", "wedge: to retune, in cents"


def rows_of(shown: Shown, width: float) -> list[list[tuple[str, str]]]:
    """Break the legend into rows no wider than `width`."""
    rows: list[list[tuple[str, str]]] = [[]]
    used = 0.0
    for mark, meaning in shown.entries():
        needs = _wide(mark, meaning)
        if rows[-1] and used + needs > width:
            rows.append([])
            used = 0.0
        rows[-1].append((mark, meaning))
        used += needs
    return rows


def height_of(rows: Sequence[Sequence[tuple[str, str]]]) -> float:
    """Return how high the rows are drawn."""
    return _ROW * len(rows)


def legend(rows: Sequence[Sequence[tuple[str, str]]], width: float, top: float) -> str:
    """Draw the rows, each centred in `width`."""
    look: dict[str, Value] = {"font-size": _SIZE, "fill": INK, "text-anchor": "start"}
    drawn = []
    for row, y in zip(rows, (top + _ROW * n for n in range(len(rows))), strict=True):
        x = (width - sum(_wide(*entry) for entry in row) + _GAP) / 2
        for mark, meaning in row:
            drawn.append(_symbol(mark, x, y))
            drawn.append(label(x + _symbol_width(mark), y + 17, meaning, look))
            x += _wide(mark, meaning)
    return element("g", {"class": "legend"}, *drawn)


def _symbol_width(mark: str) -> float:
    return _SLIM_SYMBOL if mark in _SLIM else _WIDE_SYMBOL


def _wide(mark: str, meaning: str) -> float:
    return _symbol_width(mark) + _LETTER * len(meaning) + _GAP


def _symbol(mark: str, x: float, y: float) -> str:
    box = marks.Box(x=x + 2, y=y + 1, height=22, front_is_low=True, width=24)
    match mark:
        case "in" | "out":
            return _pill(x + 9, y, filled=mark == "in")
        case "rivet":
            look: dict[str, Value] = {"fill": BRASS, "stroke": INK, "stroke-width": 1.1}
            return element("circle", {"cx": x + 9, "cy": y + 12, "r": 5.0, **look})
        case "stair":
            return marks.stair(x + 5, y + 3, 3, width=15)
        case "next":
            small = marks.Box(x=x + 8, y=y + 7, height=10, front_is_low=True, width=12)
            return marks.next_frame(small)
        case "retune":
            return marks.wedge(x + 12, y + 6, 1.0)
        case "missing":
            return marks.missing(box, word=False)
        case _:
            return marks.empty(box, word=False)


def _pill(middle: float, y: float, *, filled: bool) -> str:
    return element("rect", {
        "x": middle - 5, "y": y + 1, "width": 10, "height": 22, "rx": 5,
        "fill": INK if filled else "none", "stroke": INK, "stroke-width": 1.5,
    })  # fmt: skip
