"""A comb as it is filled in: its decks, its parts, and the measures of each chamber."""

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.comb.combs import Chamber, Comb, DeckRule
from combwright.comb.seats import DECKS, MOST_HOLES
from combwright.files.cells import LONGEST_NAME
from combwright.files.combs import LONGEST_CHAMBER_MM, MOST_MARGIN_MM, MOST_PARTS, WIDEST_MM
from combwright.shop.designs.forms import HolesForm, LineField
from combwright.shop.designs.numbers import NumberField, WholeField, shown

_SPARE_PART_ROWS: Final = 3
_MEASURES: Final = ("length", "width", "depth")
_MOST_MM: Final = {"length": LONGEST_CHAMBER_MM, "width": WIDEST_MM, "depth": WIDEST_MM}
_MOUNTS: Final = [("any", _("either end")), ("front", _("the front")), ("rear", _("the rear"))]
_DECK_WORDS: Final = {
    "upper": (_("Upper deck takes plates mounted at"), _("Room under the upper cover (mm)")),
    "lower": (_("Lower deck takes plates mounted at"), _("Room under the lower cover (mm)")),
}


@dataclass(frozen=True, slots=True)
class ChamberRow:
    """The fields of one chamber."""

    hole: int
    fields: tuple[BoundField, ...]


class CombForm(HolesForm):
    """A comb."""

    def build(self) -> None:
        """Add the margin, the decks, the parts and the chambers."""
        self.fields["margin"] = NumberField(
            0, MOST_MARGIN_MM, label=_("End margin (mm)"),
            help_text=_("Of each chamber's length, what no slot may use."),
        )  # fmt: skip
        for deck, (mount, clear) in _DECK_WORDS.items():
            self.fields[f"{deck}_mount"] = forms.ChoiceField(label=mount, choices=_MOUNTS)
            self.fields[f"{deck}_clear"] = NumberField(0, WIDEST_MM, label=clear)
        self._build_parts()
        for hole in range(1, MOST_HOLES + 1):
            self._build_chamber(hole)

    def _build_parts(self) -> None:
        filled = [n for n in range(len(self.filled)) if self.filled.get(f"part_{n}")]
        self.part_rows = max(filled, default=-1) + 1 + _SPARE_PART_ROWS
        for n in range(self.part_rows):
            said = {"n": n + 1}
            self.fields[f"part_{n}"] = LineField(
                label=_now("Part %(n)d") % said, required=False, max_length=LONGEST_NAME
            )
            self.fields[f"count_{n}"] = WholeField(
                0, MOST_PARTS, label=_now("How many of part %(n)d") % said, required=False
            )

    def _build_chamber(self, hole: int) -> None:
        words = {
            "length": _now("Length of chamber %d (mm)"),
            "width": _now("Width of chamber %d (mm)"),
            "depth": _now("Depth of chamber %d (mm)"),
        }
        for measure in _MEASURES:
            field = NumberField(0, _MOST_MM[measure], above=True, label=words[measure] % hole)
            self.add_row_field(f"{measure}_{hole}", hole, field)

    def ordinary_fields(self) -> Iterator[BoundField]:
        """Give the fields before the tables."""
        names = (
            "title",
            "code",
            "margin",
            *(f"{d}_{w}" for d in DECKS for w in ("mount", "clear")),
        )
        return (self[name] for name in names if name in self.fields)

    def chamber_rows(self) -> Iterator[ChamberRow]:
        """Give the fields of each chamber there is to be."""
        for hole in range(1, self.holes + 1):
            yield ChamberRow(hole, tuple(self[f"{measure}_{hole}"] for measure in _MEASURES))

    def part_fields(self) -> Iterator[tuple[BoundField, BoundField]]:
        """Give the fields of each part."""
        return ((self[f"part_{n}"], self[f"count_{n}"]) for n in range(self.part_rows))

    def clean(self) -> dict[str, Any]:
        """Hold lengths against the margin, and parts against one another."""
        said = self.cleaned_data
        for hole in range(1, self.holes + 1):
            length, margin = said.get(f"length_{hole}"), said.get("margin")
            if length is not None and margin is not None and length <= margin:
                wrong = _now("%(length)s leaves no room beside the end margin, %(margin)s.")
                self.add_error(
                    f"length_{hole}", wrong % {"length": shown(length), "margin": shown(margin)}
                )
        self._clean_parts(said)
        return said

    def _clean_parts(self, said: dict[str, Any]) -> None:
        seen: set[str] = set()
        for n in range(self.part_rows):
            part, count = said.get(f"part_{n}"), said.get(f"count_{n}")
            if part and count is None and f"count_{n}" not in self.errors:
                self.add_error(f"count_{n}", _now("Say how many one instrument uses."))
            if count is not None and not part and f"part_{n}" not in self.errors:
                self.add_error(f"part_{n}", _now("Say what the part is called."))
            if part in seen:
                self.add_error(f"part_{n}", _now("%s is given twice; give it once.") % part)
            seen |= {part} if part else set()

    def comb(self) -> Comb:
        """Return the comb that was filled in."""
        said = self.cleaned_data
        chambers = tuple(
            Chamber(*(said[f"{measure}_{hole}"] for measure in _MEASURES))
            for hole in range(1, self.holes + 1)
        )
        upper, lower = (DeckRule(said[f"{d}_mount"], said[f"{d}_clear"]) for d in DECKS)
        pairs = ((said[f"part_{n}"], said[f"count_{n}"]) for n in range(self.part_rows))
        parts = MappingProxyType({part: count for part, count in pairs if part})
        return Comb(said["title"], chambers, said["margin"], upper, lower, parts)


def filled_with(comb: Comb) -> dict[str, Any]:
    """Return what the form shows of a comb."""
    filled: dict[str, Any] = {
        "title": comb.title, "holes": comb.holes, "margin": comb.end_margin_mm
    }  # fmt: skip
    for deck in DECKS:
        filled[f"{deck}_mount"] = comb.deck(deck).mount
        filled[f"{deck}_clear"] = comb.deck(deck).cover_clear_mm
    for hole, chamber in enumerate(comb.chambers, start=1):
        for measure in _MEASURES:
            filled[f"{measure}_{hole}"] = getattr(chamber, f"{measure}_mm")
    for n, (part, count) in enumerate(comb.parts.items()):
        filled[f"part_{n}"], filled[f"count_{n}"] = part, count
    return filled
