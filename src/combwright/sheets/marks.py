"""The marks of a drawing: plate, tongue, rivet, stair, and the frames of odd seats.

A mark is told by its shape before its colour: it must read in black and white.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from combwright.comb.seats import Mount
from combwright.sheets.look import BRASS, INK, NEXT, PAPER, PLATE, QUIET, WRONG
from combwright.sheets.svg import Value, element, label, rectangle

_TONGUE: Final = 15.0
_PAD: Final = 24.0
_HATCH: Final = 11.0
_NARROW: Final = 58.0
_TREAD: Final = 6.0
_FINEST_TREAD: Final = 2.5  # below it, lines between the steps would run together
_RISER: Final = 8.0
_STAIR_HEIGHT: Final = 84.0
_WORD: Final[Mapping[str, Value]] = {"font-size": 12.5, "font-weight": 600}


@dataclass(frozen=True, slots=True)
class Box:
    """A plate's place on the drawing; `front_is_low` says that its front end is the lower edge."""

    x: float
    y: float
    height: float
    front_is_low: bool
    width: float

    @property
    def middle(self) -> float:
        """Half way across."""
        return self.x + self.width / 2

    def root_is_low(self, mount: Mount | None) -> bool:
        """Whether the tongue's fixed end is drawn at the lower edge; without a mount, at front."""
        return self.front_is_low == (mount != "rear")


def plate(box: Box, *, filled: bool, mount: Mount | None) -> str:
    """Draw a plate with its tongue, filled facing in or outlined facing out, and its rivet."""
    body = rectangle(
        box.x, box.y, box.width, box.height,
        {"rx": 4, "fill": PLATE, "stroke": INK, "stroke-width": 1.2, "class": "plate"},
    )  # fmt: skip
    return body + _tongue(box, filled=filled, mount=mount)


def _tongue(box: Box, *, filled: bool, mount: Mount | None) -> str:
    inset = min(10.0, box.height / 8)
    top, foot = box.y + inset, box.y + box.height - inset
    slot = rectangle(
        box.middle - _TONGUE / 2 - 3, top, _TONGUE + 6, foot - top,
        {"rx": 3, "fill": PAPER, "stroke": QUIET, "stroke-width": 0.8},
    )  # fmt: skip
    look: dict[str, Value] = {
        "fill": INK if filled else PAPER,
        "stroke": INK,
        "stroke-width": 1.5,
        "stroke-linejoin": "round",
        "class": "tongue-in" if filled else "tongue-out",
    }
    if mount is None:
        pill = {"rx": _TONGUE / 2, **look}
        x, y = box.middle - _TONGUE / 2, top + 3
        return slot + rectangle(x, y, _TONGUE, foot - top - 6, pill)
    root, tip = (foot, top) if box.root_is_low(mount) else (top, foot)
    inward = -1 if root > tip else 1
    outline = _outline(box.middle, root - 2 * inward, tip - 4 * inward, inward)
    rivet = element("circle", {
        "cx": box.middle, "cy": root + 7 * inward, "r": 4.4, "fill": BRASS,
        "stroke": PAPER if filled else INK, "stroke-width": 1.1, "class": f"rivet-{mount}",
    })  # fmt: skip
    return slot + element("path", {"d": outline, **look}) + rivet


def _outline(middle: float, root: float, tip: float, inward: int) -> str:
    """Return the path of a tongue: a pad at the root, parallel sides, a round tip."""
    pad, half = _PAD / 2, _TONGUE / 2
    neck = root + 16 * inward
    shoulder = tip - 5 * inward
    return (
        f"M{middle - pad:.1f} {root:.1f}V{neck:.1f}H{middle - half:.1f}V{shoulder:.1f}"
        f"Q{middle:.1f} {tip + 4 * inward:.1f} {middle + half:.1f} {shoulder:.1f}"
        f"V{neck:.1f}H{middle + pad:.1f}V{root:.1f}Z"
    )


def missing(box: Box, *, word: bool = True) -> str:
    """Draw a seat whose plate is missing: a dashed frame, cross-hatched, with the word."""
    red: Mapping[str, Value] = {"stroke": WRONG, "fill": "none"}
    hatch = element("path", {"d": _hatching(box), "stroke-width": 0.7, "opacity": 0.7, **red})
    frame = rectangle(
        box.x, box.y, box.width, box.height,
        {"rx": 4, "stroke-width": 2.2, "stroke-dasharray": "6 4", "class": "missing", **red},
    )  # fmt: skip
    return hatch + frame + (_on_paper(box, "missing", WRONG) if word else "")


def _hatching(box: Box) -> str:
    """Return lines at 45 degrees both ways, cut at the frame so that no clipping is needed."""
    parts = []
    reach = box.width + box.height
    offset = _HATCH / 2
    while offset < reach:
        x0, y0 = max(0.0, offset - box.height), min(offset, box.height)
        x1, y1 = min(offset, box.width), max(0.0, offset - box.width)
        for mirror in (False, True):
            a, b = (box.width - x0, box.width - x1) if mirror else (x0, x1)
            parts.append(f"M{box.x + a:.1f} {box.y + y0:.1f}L{box.x + b:.1f} {box.y + y1:.1f}")
        offset += _HATCH
    return "".join(parts)


def _on_paper(box: Box, text: str, colour: str) -> str:
    y = box.y + box.height / 2
    ground = rectangle(box.middle - 26, y - 10, 52, 20, {"rx": 4, "fill": PAPER})
    word = ground + label(box.middle, y + 4.2, text, {"fill": colour, **_WORD})
    # A narrow plate takes the word upright.
    turn = {} if box.width > _NARROW else {"transform": f"rotate(-90 {box.middle:g} {y:g})"}
    return element("g", turn, word)


def empty(box: Box, *, word: bool = True) -> str:
    """Draw a seat that the layout leaves empty: a thin dotted outline, with the word."""
    frame = rectangle(
        box.x, box.y, box.width, box.height,
        {
            "rx": 4, "fill": "none", "stroke": QUIET, "stroke-width": 1.1,
            "stroke-dasharray": "0.1 4", "stroke-linecap": "round", "class": "empty",
        },
    )  # fmt: skip
    y = box.y + box.height / 2 + 4
    text = label(box.middle, y, "empty", {"fill": QUIET, "font-size": 12.5})
    return frame + (text if word else "")


def next_frame(box: Box) -> str:
    """Draw the thick frame of the seat to do next."""
    return rectangle(
        box.x - 4.5, box.y - 4.5, box.width + 9, box.height + 9,
        {"rx": 8, "fill": "none", "stroke": NEXT, "stroke-width": 3, "class": "next"},
    )  # fmt: skip


def next_tag(middle: float, y: float, word: str = "next") -> str:
    """Draw the tag of the framed seat, its upper edge at `y`."""
    half = 22 + 3.5 * max(0, len(word) - 4)
    ground = rectangle(middle - half, y, 2 * half, 18, {"rx": 9, "fill": NEXT})
    return ground + label(middle, y + 13.2, word, {"fill": PAPER, **_WORD})


def retune(middle: float, y: float, cents: float) -> str:
    """Draw by how many cents a reed is to be raised or lowered: a wedge and the number."""
    number = label(middle + 7, y + 11.5, f"{abs(cents):.0f}c", {"fill": INK, "font-size": 13.0})
    way = "retune up" if cents > 0 else "retune down"
    return element("g", {"class": way}, wedge(middle - 17, y + 2, cents), number)


def wedge(middle: float, y: float, cents: float) -> str:
    """Draw a wedge whose point is up for raising, down for lowering; `y` is its upper edge."""
    tip, foot = (y, y + 9) if cents > 0 else (y + 9, y)
    path = f"M{middle:g} {tip:g}L{middle + 5:g} {foot:g}H{middle - 5:g}Z"
    return element("path", {"d": path, "fill": BRASS, "stroke": INK, "stroke-width": 0.8})


def stair(x: float, y: float, steps: int, *, width: float) -> str:
    """Draw a stair that falls to the right, one step a semitone, its upper left corner given."""
    tread = min(_TREAD, width / steps)
    riser = stair_height(steps) / steps
    path = f"M{x:.2f} {y:.2f}" + "".join(f"h{tread:.2f}v{riser:.2f}" for _ in range(steps))
    risers = range(1, steps) if tread >= _FINEST_TREAD else range(0)
    inner = "".join(
        f"M{x + tread * n:.2f} {y + riser * n:.2f}V{y + riser * steps:.2f}" for n in risers
    )
    look: dict[str, Value] = {
        "fill": BRASS,
        "stroke": INK,
        "stroke-width": 0.8 if risers or steps == 1 else 0.5,
        "stroke-linejoin": "round",
    }
    drawn = element("path", {"d": f"{path}H{x:.2f}Z{inner}", **look})
    return element("g", {"class": f"stair steps-{steps}"}, drawn)


def stair_height(steps: int) -> float:
    """Return how high a stair is drawn."""
    return min(_RISER * steps, _STAIR_HEIGHT)
