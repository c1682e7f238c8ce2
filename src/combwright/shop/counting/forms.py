"""What people fill in about counting."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

from combwright.shop.counting.queries import Scope
from combwright.shop.rack.forms import MOST_PLATES, NoteField
from combwright.shop.rack.models import Batch


def _numeric(**more: Any) -> forms.TextInput:
    return forms.TextInput({"inputmode": "numeric", "autocomplete": "off", **more})


class StartForm(forms.Form):
    """How many bins to count, and which."""

    most = forms.IntegerField(
        label=_("How many bins"),
        initial=20,
        validators=[MinValueValidator(1), MaxValueValidator(200)],
        widget=_numeric(),
    )
    place = forms.CharField(
        label=_("Only places or bins that begin with"), required=False, max_length=40
    )
    batch = forms.ModelChoiceField(
        Batch.objects.all(),
        label=_("Only this batch"),
        required=False,
        to_field_name="code",
        empty_label=_("any"),
    )
    pitch = NoteField(label=_("Only this note"), required=False, max_length=10)
    note = forms.CharField(label=_("Remark"), required=False, max_length=200)

    def scope(self) -> Scope:
        """Return which bins are meant."""
        said = self.cleaned_data
        batch = said["batch"].code if said["batch"] else ""
        return Scope(place=said["place"], batch=batch, midi=said["pitch"])


class FoundForm(forms.Form):
    """How many plates were found, and what the page knew when it was opened."""

    found = forms.IntegerField(
        label=_("Plates found"),
        validators=[MinValueValidator(0), MaxValueValidator(MOST_PLATES)],
        widget=_numeric(autofocus=True, enterkeyhint="next"),
        error_messages={"required": _("Type how many plates you found; an empty bin is 0.")},
    )
    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=60)
    line = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    sure = forms.BooleanField(widget=forms.HiddenInput, required=False)
