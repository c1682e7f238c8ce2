"""What the page of all parts shows: invented bins, notes and forms."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from django import forms
from django.core.paginator import Page, Paginator
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext_lazy as _

from combwright.comb.catalogue import catalogue_layout
from combwright.comb.default_comb import default_comb
from combwright.sheets.drawing import comb_svg
from combwright.sheets.plates import bends_of_plates, plates_of_layout

_WRONG: Final[Mapping[str, str]] = MappingProxyType(
    {"bin": "", "plates": "-3", "slot": "16.0000000001", "mount": "", "reason": "dropped"}
)

_LEVELS: Final = (1, 3, 6, 12, 24, 48)


class ExampleForm(forms.Form):
    """A form with a field of every kind."""

    bin = forms.CharField(label=_("Bin"), help_text=_("As on its label, such as A-12."))
    plates = forms.IntegerField(
        label=_("Plates"), min_value=1, widget=forms.TextInput({"inputmode": "numeric"})
    )
    slot = forms.DecimalField(
        label=_("Slot (mm)"),
        max_digits=6,
        decimal_places=3,
        help_text=_("Measured along the opening."),
        widget=forms.TextInput({"inputmode": "decimal"}),
    )
    batch = forms.ChoiceField(
        label=_("Batch"),
        required=False,
        choices=[("", _("none yet")), ("1", "L-07"), ("2", "L-08")],
    )
    mount = forms.ChoiceField(
        label=_("Mounted end"),
        choices=[("front", _("front")), ("rear", _("rear"))],
        widget=forms.RadioSelect,
    )
    list = forms.FileField(label=_("List of plates"), required=False)
    reason = forms.CharField(
        label=_("Why"), required=False, widget=forms.Textarea({"rows": 3}), max_length=300
    )
    measured = forms.BooleanField(
        label=_("Three plates were measured"),
        required=False,
        help_text=_("Leave it open when none was."),
    )

    def clean(self) -> dict[str, Any]:
        """Show a fault of the form as a whole."""
        if self.cleaned_data.get("reason") == "dropped":
            self.add_error(None, _("Bin A-12 holds 2 plates; 3 cannot be taken from it."))
        return self.cleaned_data


class ExampleFilter(forms.Form):
    """What a list is narrowed by."""

    text = forms.CharField(label=_("Find"), required=False)
    note = forms.CharField(label=_("Note"), required=False)
    mount = forms.ChoiceField(
        label=_("Mounted end"),
        required=False,
        choices=[("", _("either")), ("front", _("front")), ("rear", _("rear"))],
    )
    stocked = forms.BooleanField(label=_("Only bins with plates"), required=False)


def example_forms() -> dict[str, forms.Form]:
    """Return a form as it opens, and one that came back with faults."""
    return {
        "fresh": ExampleForm(auto_id="fresh_%s", initial={"mount": "front"}),
        "wrong": ExampleForm(_WRONG, auto_id="wrong_%s"),
    }


def filter_form() -> forms.Form:
    """Return a filter with nothing chosen."""
    return ExampleFilter(auto_id="filter_%s")


def some_page(number: str | None) -> Page[int]:
    """Return a page out of the middle of a long list."""
    return Paginator(range(430), 50).get_page(number or 4)


@dataclass(frozen=True, slots=True)
class ExampleCell:
    """A cell of the example heat map."""

    plates: int
    level: int
    gap: bool


def heat_rows() -> dict[str, list[ExampleCell]]:
    """Return notes with ten cells each, so that every level and a gap are seen."""
    counts = {
        "C4": (61, 40, 25, 14, 9, 4, 2, 0, 0, 0),
        "C♯4": (0, 3, 3, 5, 7, 12, 1, 1, 0, 0),
        "D4": (8, 8, 24, 24, 51, 6, 6, 2, 2, 0),
    }
    gaps = {("C♯4", 0), ("C4", 7)}
    return {
        note: [
            ExampleCell(n, sum(n >= least for least in _LEVELS), (note, place) in gaps)
            for place, n in enumerate(row)
        ]
        for note, row in counts.items()
    }


def drawn_comb() -> SafeString:
    """Return the standard layout on the ordinary comb: a plate missing, a seat empty, one next."""
    plates = plates_of_layout(catalogue_layout("standard"), missing=[(5, "lower")])
    drawn = [plate for plate in plates if (plate.hole, plate.deck) != (10, "upper")]
    svg = comb_svg(
        default_comb(),
        drawn,
        bends=bends_of_plates(drawn),
        next_seat=(3, "upper"),
        title=str(_("A comb with its plates")),
        ground=False,
    )
    return mark_safe(svg)  # every value in a drawing is escaped by sheets.svg
