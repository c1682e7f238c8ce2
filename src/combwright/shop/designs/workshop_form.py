"""The workshop's numbers as they are filled in."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext_lazy as _

from combwright.allocation.workshop import LabelSheet, Retune, Weight, Workshop
from combwright.files.cells import MOST_MONEY
from combwright.files.workshop import (
    LARGEST_PAGE_MM,
    LONGEST_CURRENCY,
    MOST_CENTS,
    MOST_LABEL_COLUMNS,
    MOST_LABEL_ROWS,
    PAPERS,
)
from combwright.shop.designs.forms import LineField
from combwright.shop.designs.numbers import NumberField, WholeField

#: The groups of the form: the sections of the file, and what each is called.
_GROUPS: Final = (
    ("retune", _("Filing a reed")),
    ("weight", _("A removable weight on the tip")),
    ("labels", _("Sheets of labels")),
    ("paper", _("Paper and money")),
)


def _cents(label: Any, help_text: Any = "") -> NumberField:
    return NumberField(0, MOST_CENTS, label=label, help_text=help_text)


def _amount(label: Any, help_text: Any = "") -> NumberField:
    return NumberField(0, MOST_MONEY, money=True, label=label, help_text=help_text)


def _page_mm(label: Any) -> NumberField:
    return NumberField(0, LARGEST_PAGE_MM, label=label)


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together."""

    title: Any
    fields: tuple[BoundField, ...]


class WorkshopForm(forms.Form):
    """The workshop's numbers; a field is called by its section and its key in the file."""

    retune_raise_most_cents = _cents(_("Filed up by at most (cents)"))
    retune_lower_most_cents = _cents(_("Filed down by at most (cents)"))
    retune_free_cents = _cents(
        _("Free up to (cents)"),
        _("Touched up while tuning: it costs nothing and is no retune."),
    )
    retune_fixed = _amount(_("Every retune costs"))
    retune_each_cent = _amount(_("And each of its cents"))
    weight_lower_most_cents = _cents(
        _("Lowered by a weight by at most (cents)"), _("0 where no weights are used.")
    )
    weight_fixed = _amount(_("Every weight costs"))
    weight_each_cent = _amount(_("And each of its cents"))
    labels_rows = WholeField(1, MOST_LABEL_ROWS, label=_("Labels from top to bottom"))
    labels_columns = WholeField(1, MOST_LABEL_COLUMNS, label=_("Labels from left to right"))
    labels_top_mm = _page_mm(_("Paper's upper edge to the first label (mm)"))
    labels_left_mm = _page_mm(_("Paper's left edge to the first label (mm)"))
    labels_gap_x_mm = _page_mm(_("Between labels side by side (mm)"))
    labels_gap_y_mm = _page_mm(_("Between labels one above the other (mm)"))
    paper_size = forms.ChoiceField(
        label=_("Paper"), choices=[(size, size) for size in PAPERS], widget=forms.RadioSelect
    )
    paper_currency = LineField(
        label=_("Currency"),
        help_text=_("A code or a sign, shown beside amounts."),
        max_length=LONGEST_CURRENCY,
    )

    def groups(self) -> Iterator[Group]:
        """Give the fields group by group."""
        for section, title in _GROUPS:
            fields = (self[name] for name in self.fields if name.startswith(f"{section}_"))
            yield Group(title, tuple(fields))

    def workshop(self) -> Workshop:
        """Return the numbers that were filled in."""
        said = self.cleaned_data
        return Workshop(
            retune=Retune(**_of(said, "retune")),
            weight=Weight(**_of(said, "weight")),
            labels=LabelSheet(**_of(said, "labels")),
            paper=said["paper_size"],
            currency=said["paper_currency"],
        )


def _of(said: Mapping[str, Any], section: str) -> dict[str, Any]:
    start = f"{section}_"
    return {key.removeprefix(start): value for key, value in said.items() if key.startswith(start)}


def filled_with(workshop: Workshop) -> dict[str, Any]:
    """Return what the form shows of a workshop."""
    filled: dict[str, Any] = {
        "paper_size": workshop.paper, "paper_currency": workshop.currency
    }  # fmt: skip
    for section in ("retune", "weight", "labels"):
        values = asdict(getattr(workshop, section))
        filled |= {f"{section}_{key}": value for key, value in values.items()}
    return filled
