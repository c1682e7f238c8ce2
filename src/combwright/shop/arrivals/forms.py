"""What people fill in about a measured sample."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.formats import sanitize_separators
from django.utils.translation import gettext_lazy as _

from combwright.inspection.chances import BadPlan
from combwright.inspection.letters import SHARES, plan_by_letter
from combwright.inspection.plans import plan_for
from combwright.shop.arrivals.actions import FARTHEST_CENTS, Chosen
from combwright.shop.arrivals.models import Inspection
from combwright.shop.rack.forms import MOST_PLATES
from combwright.shop.rack.models import MILLICENTS_PER_CENT


def _decimal(**more: Any) -> forms.TextInput:
    return forms.TextInput({"inputmode": "decimal", "autocomplete": "off", **more})


class PercentField(forms.DecimalField):
    """A share in percent."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            min_value=0,
            max_value=100,
            max_digits=6,
            decimal_places=3,
            localize=True,
            widget=_decimal(),
            **options,
        )


class PlanForm(forms.Form):
    """How large the delivery is, what counts as bad, and how sure the sample is to be."""

    lot = forms.IntegerField(
        label=_("Plates delivered"),
        validators=[MinValueValidator(1), MaxValueValidator(MOST_PLATES)],
        widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
    )
    tolerance = forms.DecimalField(
        label=_("Tolerance (cents)"),
        help_text=_("A plate farther than this from its bin’s offset is bad; so is a broken one."),
        min_value=0,
        max_value=FARTHEST_CENTS,
        max_digits=6,
        decimal_places=3,
        localize=True,
        widget=_decimal(),
    )
    way = forms.ChoiceField(
        label=_("How many to measure"), choices=Inspection.WAYS, widget=forms.RadioSelect
    )
    good = PercentField(
        label=_("Good: up to so many % bad"), help_text=_("Such a delivery should be accepted.")
    )
    bad = PercentField(
        label=_("Bad: from so many % bad"), help_text=_("Such a delivery should be refused.")
    )
    producer = PercentField(label=_("Risk of refusing a good one (%)"))
    consumer = PercentField(label=_("Risk of accepting a bad one (%)"))
    share = forms.ChoiceField(
        label=_("For the table: acceptable share (% bad)"),
        choices=[(f"{float(each):g}", f"{float(each):g} %") for each in SHARES],
    )
    note = forms.CharField(label=_("Remark"), required=False, max_length=200)

    chosen: Chosen

    def clean(self) -> dict[str, Any]:
        """Work out the plan, or say why there is none."""
        said = self.cleaned_data
        needed = {"lot", "tolerance", "way", "good", "bad", "producer", "consumer", "share"}
        if needed <= set(said):
            try:
                self.chosen = _chosen(said)
            except BadPlan as error:
                self.add_error(None, str(error))
        return said


def _chosen(said: dict[str, Any]) -> Chosen:
    tolerance = round(said["tolerance"] * MILLICENTS_PER_CENT)
    if said["way"] == Inspection.LETTER:
        lettered = plan_by_letter(said["lot"], said["share"])
        return Chosen(
            lettered.plan, tolerance, good_percent=Decimal(said["share"]), letter=lettered.letter
        )
    plan = plan_for(
        said["lot"],
        _share(said["good"]),
        _share(said["bad"]),
        producer_risk=_share(said["producer"]),
        consumer_risk=_share(said["consumer"]),
    )
    return Chosen(
        plan, tolerance, said["good"], said["bad"], said["producer"], said["consumer"]
    )  # fmt: skip


def _share(percent: Decimal) -> Fraction:
    return Fraction(percent) / 100


class CentsField(forms.DecimalField):
    """Cents as they are read off; a true minus sign is taken as one."""

    def to_python(self, value: Any) -> Any:
        """Read the number."""
        if isinstance(value, str):
            value = sanitize_separators(value.strip().replace("\u2212", "-"))
        return super().to_python(value)


class ReadingForm(forms.Form):
    """One plate: its bin, and how far it is off.

    The sign is a button, because a phone's keyboard of numbers has none; a typed minus is taken as
    well.
    """

    cents = CentsField(
        label=_("Cents off"),
        min_value=-FARTHEST_CENTS,
        max_value=FARTHEST_CENTS,
        max_digits=6,
        decimal_places=3,
        required=False,
        widget=_decimal(autofocus=True),
    )
    bin = forms.IntegerField(widget=forms.HiddenInput, min_value=1)
    what = forms.ChoiceField(
        choices=[("sharp", ""), ("flat", ""), ("broken", "")], widget=forms.HiddenInput
    )

    def clean(self) -> dict[str, Any]:
        """Put the sign to the number; a broken plate needs none."""
        said = self.cleaned_data
        if said.get("what") == "broken":
            self.errors.pop("cents", None)
            said["cents"] = None
        elif "cents" in said and said["cents"] is None:
            self.add_error("cents", _("Type how many cents the plate is off; 0 when it is right."))
        elif said.get("what") == "flat" and "cents" in said:
            said["cents"] = -abs(said["cents"])
        return said
