"""What comes in at tuning: readings from a live page, microphones, and what to listen for."""

from decimal import Decimal
from typing import Any, Final

from django import forms
from django.utils.translation import gettext_lazy as _

from combwright.errors import CombwrightError
from combwright.shop.orders.forms import typed
from combwright.shop.register.models import Condition
from combwright.shop.tuning.actions import Read
from combwright.shop.tuning.models import Microphone
from combwright.shop.tuning.sorting import OnJig

COLDEST, HOTTEST = Decimal(-10), Decimal(50)


class HeardForm(forms.Form):
    """One reading of one reed, as a page hands it in; `place` is the name of what it aimed at."""

    key = forms.UUIDField()
    place = forms.CharField(max_length=30)
    cents = forms.FloatField()
    sd = forms.FloatField(min_value=0, max_value=1000)
    level = forms.FloatField(min_value=-200, max_value=60)
    temperature = forms.DecimalField(
        label=_("Temperature"), required=False, min_value=COLDEST, max_value=HOTTEST,
        max_digits=4, decimal_places=1,
    )  # fmt: skip
    microphone = forms.ModelChoiceField(Microphone.objects.all(), required=False)


class ReadForm(HeardForm):
    """One reading of a reed in its seat."""

    spread = forms.FloatField(min_value=0, max_value=1000)
    unsure = forms.BooleanField(required=False)
    condition = forms.ChoiceField(choices=Condition.choices)

    def read(self) -> Read:
        """Return the reading; the form must be valid."""
        given: dict[str, Any] = self.cleaned_data
        return Read(
            key=given["key"], place=given["place"], cents=given["cents"], sd_cents=given["sd"],
            spread_cents=given["spread"], level_db=given["level"], unsure=given["unsure"],
            condition=given["condition"], temperature=given["temperature"],
            microphone=given["microphone"],
        )  # fmt: skip


class OnJigForm(HeardForm):
    """One reading of a bare plate."""

    jig = forms.CharField(max_length=40, required=False)

    def heard(self) -> OnJig:
        """Return the reading; the form must be valid."""
        given: dict[str, Any] = self.cleaned_data
        return OnJig(
            key=given["key"], cents=given["cents"], sd_cents=given["sd"], jig=given["jig"],
            level_db=given["level"], temperature=given["temperature"],
            microphone=given["microphone"],
        )  # fmt: skip


class NameForm(forms.Form):
    """A new microphone."""

    name = forms.CharField(
        label=_("What you call it"),
        max_length=60,
        help_text=_("With its device: “bench tablet”, “laptop with the small USB one”."),
    )


class BreathForm(forms.Form):
    """The levels of an ordinary breath."""

    low = forms.FloatField(
        label=_("Softest"), min_value=-90, max_value=0, widget=typed("decimal"),
        help_text=_("In decibels below full scale, as the live page shows them."),
    )  # fmt: skip
    high = forms.FloatField(
        label=_("Strongest"), min_value=-90, max_value=0, widget=typed("decimal")
    )


class ToneForm(forms.Form):
    """A known tone and what was heard of it."""

    tone = forms.FloatField(
        label=_("The tone's frequency in hertz"), min_value=20, max_value=20_000,
        widget=typed("decimal"),
    )  # fmt: skip
    heard = forms.FloatField(min_value=20, max_value=20_000, widget=forms.HiddenInput())
    sd = forms.FloatField(min_value=0, max_value=100, widget=forms.HiddenInput())


class ListenForm(forms.Form):
    """What to listen for where no instrument of the register is meant."""

    MOST: Final = 20
    key = forms.CharField(label=_("Key"), max_length=4, initial="C")
    layout = forms.CharField(label=_("Layout"), max_length=80, initial="standard")
    changes = forms.CharField(label=_("Changes"), max_length=600, required=False)
    temperament = forms.CharField(label=_("Temperament"), max_length=80, initial="equal")
    a4 = forms.FloatField(label=_("A4 in hertz"), initial=440, widget=typed("decimal"))

    def clean(self) -> dict[str, Any]:
        """Read the wish; what cannot be read is said at the whole form."""
        given = super().clean() or {}
        if self.errors:
            return given
        from combwright.shop.tuning.free import free_aims

        try:
            given["aims"] = free_aims(given)
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error
        return given
