"""Layouts and combs as pictures, and what stands beside a picture in words and numbers."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from combwright.comb.chamber import bends, remark
from combwright.comb.combs import Chamber, Comb
from combwright.comb.difference import Difference, difference
from combwright.comb.layouts import Layout
from combwright.comb.reach import How
from combwright.comb.seats import DECKS, Seat
from combwright.notes.names import note_name
from combwright.sheets.chambers import chambers_svg
from combwright.sheets.drawing import comb_svg
from combwright.sheets.plates import Place, plates_of_layout
from combwright.shop.designs.numbers import shown, signed

_EVEN: Final = Chamber(15.0, 4.6, 5.2)


def comb_for(layout: Layout, usual: Comb) -> Comb:
    """Return the comb to draw a layout on: the usual one, or an even one where that is too short.

    A comb with more chambers than the layout has holes is drawn whole, its other seats empty.
    """
    if layout.holes <= usual.holes:
        return usual
    return Comb(str(_("an even comb")), (_EVEN,) * layout.holes)


def drawn_layout(layout: Layout, comb: Comb, *, small: bool = False) -> SafeString:
    """Draw a layout, as it sounds, on a comb that has a chamber for each of its holes."""
    return _safe(
        comb_svg(
            comb,
            plates_of_layout(layout),
            bends=_steps(layout),
            title=layout.title,
            ground=False,
            with_legend=not small,
        )
    )


def drawn_comb(comb: Comb) -> SafeString:
    """Draw the chambers of a comb with their lengths."""
    return _safe(chambers_svg(comb))


def _safe(svg: str) -> SafeString:
    return mark_safe(svg)  # every value in a drawing is escaped by sheets.svg


def _steps(layout: Layout) -> dict[Place, int]:
    """Return by how many semitones the reed of each seat bends, as the layout's own bends say."""
    steps: dict[Place, int] = {}
    for seat in layout.seats:
        deep = sum(bend.breath == seat.breath for bend in bends(layout, seat.hole))
        if deep:
            steps[seat.hole, seat.deck] = deep
    return steps


@dataclass(frozen=True, slots=True)
class HoleRow:
    """What a hole gives: its two seats, its bends, and a remark where it is out of the ordinary."""

    hole: int
    seats: tuple[str, ...]
    bends: str
    remark: str


def hole_rows(layout: Layout) -> Iterator[HoleRow]:
    """Give a row for each hole of a layout."""
    for hole in range(1, layout.holes + 1):
        yield HoleRow(
            hole,
            tuple(_seat_words(layout.at(hole, deck)) for deck in DECKS),
            ", ".join(note_name(bend.midi) for bend in bends(layout, hole)),
            remark(layout, hole) or "",
        )


def notes_of(layout: Layout) -> tuple[str, str]:
    """Return the notes of each breath, hole by hole, a dash for none."""
    blow, draw = (
        " ".join(_of_breath(layout, hole, breath) for hole in range(1, layout.holes + 1))
        for breath in ("blow", "draw")
    )
    return blow, draw


def _of_breath(layout: Layout, hole: int, breath: str) -> str:
    found = [note_name(seat.midi) for seat in layout.in_hole(hole) if seat.breath == breath]
    return "+".join(found) or "–"


def _seat_words(seat: Seat | None) -> str:
    if seat is None:
        return _("empty")
    breath = _("blow") if seat.breath == "blow" else _("draw")
    if not seat.cents:
        return f"{note_name(seat.midi)} {breath}"
    said = {"note": note_name(seat.midi), "breath": breath, "cents": signed(seat.cents)}
    return _("%(note)s %(breath)s, %(cents)s cents") % said


@dataclass(frozen=True, slots=True)
class Against:
    """What a layout gains and loses against another one, in words."""

    reeds: tuple[str, ...]
    gained: tuple[str, ...]
    lost: tuple[str, ...]
    bends_gained: tuple[str, ...]
    bends_lost: tuple[str, ...]


def against(base: Layout, layout: Layout) -> Against:
    """Compare a layout with a base; both as they sound."""
    found = difference(base, layout)
    return Against(
        tuple(_reeds(found)),
        tuple(_note(each.midi, each.how, each.otherwise) for each in found.gained),
        tuple(_note(each.midi, each.otherwise, each.how) for each in found.lost),
        tuple(_bend(each.hole, each.breath, each.midi) for each in found.bends_gained),
        tuple(_bend(each.hole, each.breath, each.midi) for each in found.bends_lost),
    )


def _reeds(found: Difference) -> Iterator[str]:
    for reed in found.seats:
        said = {
            "seat": f"{reed.hole} {_breath_word(reed.breath)}",
            "before": "" if reed.from_midi is None else note_name(reed.from_midi),
            "after": "" if reed.to_midi is None else note_name(reed.to_midi),
            "cents": signed(round(reed.cents, 3)),
        }
        if reed.to_midi is None:
            yield _("%(seat)s: %(before)s goes") % said
        elif reed.from_midi is None:
            yield _("%(seat)s: %(after)s comes") % said
        elif not reed.semitones:
            yield _("%(seat)s: %(after)s, %(cents)s cents") % said
        else:
            yield _("%(seat)s: %(before)s becomes %(after)s") % said


def _note(midi: int, here: How, standard: How) -> str:
    ways = {
        "natural": _("natural"), "bend": _("a bend"), "overbend": _("an overbend"),
        "missing": _("missing"),
    }  # fmt: skip
    said = {"note": note_name(midi), "here": ways[here], "standard": ways[standard]}
    return _("%(note)s: %(here)s here, %(standard)s there") % said


def _bend(hole: int, breath: str, midi: int) -> str:
    said = {"hole": hole, "breath": _breath_word(breath), "note": note_name(midi)}
    return _("%(hole)d %(breath)s bends to %(note)s") % said


def _breath_word(breath: str) -> str:
    return _("blow") if breath == "blow" else _("draw")


@dataclass(frozen=True, slots=True)
class ChamberFacts:
    """The measures of a chamber, written with all their digits."""

    hole: int
    length: str
    takes: str
    width: str
    depth: str


def chamber_facts(comb: Comb) -> Iterator[ChamberFacts]:
    """Give the measures of each chamber."""
    for hole, each in enumerate(comb.chambers, start=1):
        yield ChamberFacts(
            hole, shown(each.length_mm), shown(comb.takes_mm(hole)),
            shown(each.width_mm), shown(each.depth_mm),
        )  # fmt: skip
