"""What people fill in to plan: how long it may take, and what if."""

import re
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.forms.renderers import get_default_renderer
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from combwright.errors import CombwrightError
from combwright.notes.keys import parse_key
from combwright.shop.orders.models import Order
from combwright.shop.plans.asking import PLANNED
from combwright.shop.plans.queries import SHOWN

USUAL_SECONDS: Final = 30
MOST_SECONDS: Final = 600
_MOST_SETS: Final = 1_000
_BETWEEN: Final = re.compile(r"[\s,;]+")


def _seconds() -> forms.IntegerField:
    return forms.IntegerField(
        label=gettext_lazy("Seconds"), min_value=1, max_value=MOST_SECONDS, initial=USUAL_SECONDS,
        help_text=gettext_lazy("After so long the best plan found is given."),
        widget=forms.NumberInput({"inputmode": "numeric"}),
    )  # fmt: skip


class PlanForm(forms.Form):
    """How long planning may take."""

    seconds = _seconds()


class NumbersField(forms.CharField):
    """Order numbers between commas, spaces or line ends; each must be of an order to plan."""

    def __init__(self, **options: Any) -> None:
        widget = forms.Textarea({"rows": 2, "autocomplete": "off"})
        super().__init__(required=False, max_length=4000, widget=widget, **options)

    def to_python(self, value: Any) -> list[str]:  # type: ignore[override]
        """Return the numbers, each once, in the order typed; all of them must be there."""
        typed = [each for each in _BETWEEN.split(super().to_python(value) or "") if each]
        numbers = list(dict.fromkeys(typed))
        if not numbers:
            return []
        planned = Order.objects.filter(number__in=numbers, state__in=PLANNED)
        known = set(planned.values_list("number", flat=True))
        for number in numbers:
            if number not in known:
                raise forms.ValidationError(
                    _("No order %s is open or has plates set aside; only those are planned.")
                    % number
                )
        return numbers

    def clean(self, value: Any) -> Any:
        """Check the length of what was typed, not of the list."""
        self.run_validators(value or "")
        return self.to_python(value)


class WhatIfForm(forms.Form):
    """Orders to leave out and to promise, in one plan alone."""

    without = NumbersField(
        label=gettext_lazy("Leave these orders out"),
        help_text=gettext_lazy("Order numbers, with spaces or commas between them."),
    )
    promised = NumbersField(
        label=gettext_lazy("Promise these orders"),
        help_text=gettext_lazy("They are served before all that are not promised."),
    )
    seconds = _seconds()

    def clean(self) -> dict[str, Any]:
        """Refuse an order that is both left out and promised."""
        said = super().clean() or {}
        both = set(said.get("without") or ()) & set(said.get("promised") or ())
        if both:
            self.add_error(
                "promised",
                _("Order %s is left out above; what is left out cannot be promised.") % min(both),
            )
        return said


class SetForm(forms.Form):
    """Factory sets that are expected."""

    key = forms.CharField(label=gettext_lazy("Key"), max_length=10)
    sets = forms.IntegerField(
        label=gettext_lazy("How many sets"), min_value=1, max_value=_MOST_SETS,
        widget=forms.NumberInput({"inputmode": "numeric"}),
    )  # fmt: skip
    arrives = forms.DateField(
        label=gettext_lazy("Arrives on"),
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )
    cost = forms.DecimalField(
        label=gettext_lazy("Cost of one plate"), min_value=0, max_digits=9, decimal_places=2,
        required=False, localize=True,
        widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
    )  # fmt: skip

    def clean_key(self) -> str:
        """Take a key that there is."""
        try:
            parse_key(self.cleaned_data["key"])
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error
        return str(self.cleaned_data["key"]).strip()

    def clean_arrives(self) -> date:
        """Refuse a day that is over: what has arrived lies in the rack."""
        day: date = self.cleaned_data["arrives"]
        if day < timezone.localdate():
            raise forms.ValidationError(
                _("That day is over; receive what has arrived into the rack instead.")
            )
        return day

    @property
    def said(self) -> dict[str, Any]:
        """The sets as a job is asked about them."""
        said = self.cleaned_data
        return {
            "key": said["key"], "sets": said["sets"], "arrives": said["arrives"].isoformat(),
            "cost": str(said["cost"] or Decimal(0)),
        }  # fmt: skip


# Only for the type checker has a set of forms a parameter.
if TYPE_CHECKING:
    _SetForms = forms.BaseFormSet[SetForm]
else:
    _SetForms = forms.BaseFormSet


class SetsOnce(_SetForms):
    """Expected sets: each key comes on a day once."""

    def clean(self) -> None:
        """Refuse a key and a day that stand in two rows."""
        seen = set()
        for form in self.forms:
            said = getattr(form, "cleaned_data", {})
            each = (said.get("key"), said.get("arrives"))
            if None not in each and each in seen:
                raise forms.ValidationError(
                    _("Sets in %s on the same day stand in two rows; add them up in one.")
                    % said["key"]
                )
            seen.add(each)

    @property
    def said(self) -> list[dict[str, Any]]:
        """All rows that are filled in."""
        return [each.said for each in self.forms if each.has_changed()]


class SetForms(SetsOnce):
    """Two rows for expected sets, and as many more as are asked for, up to twenty."""

    form = SetForm
    renderer = get_default_renderer()
    extra, min_num, max_num, absolute_max = 2, 0, 20, 20
    can_order = can_delete = can_delete_extra = False
    validate_max = validate_min = False


class ShownForm(forms.Form):
    """Which of a plan's orders are listed."""

    show = forms.ChoiceField(
        label=gettext_lazy("Show"), required=False,
        choices=lambda: [("", _("all")), *((name, what[0]) for name, what in SHOWN.items())],
    )  # fmt: skip
    text = forms.CharField(label=gettext_lazy("Order number"), required=False, max_length=40)
