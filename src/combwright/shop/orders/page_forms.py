"""What is filled in about customers, nicknames and links."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.shop.orders.forms import typed
from combwright.shop.orders.queries import layout_titles, layouts_named
from combwright.shop.orders.sharing import MOST_DAYS


class FindCustomerForm(forms.Form):
    """Looking for customers."""

    text = forms.CharField(label=_("Name"), required=False, max_length=60)

    def __init__(self, data: Any, *, contact: bool) -> None:
        super().__init__(data)
        if contact:
            self.fields["text"].label = _now("Name or email")


class CustomerForm(forms.Form):
    """Who somebody is and how they are reached."""

    name = forms.CharField(
        label=_("Name"), max_length=120, widget=forms.TextInput({"autocomplete": "off"})
    )
    email = forms.EmailField(
        label=_("Email"), required=False, max_length=254,
        widget=forms.EmailInput({"autocomplete": "off"}),
    )  # fmt: skip
    phone = forms.CharField(
        label=_("Telephone"), required=False, max_length=40,
        widget=forms.TextInput({"autocomplete": "off", "type": "tel"}),
    )  # fmt: skip
    address = forms.CharField(
        label=_("Address"), required=False, max_length=500, widget=forms.Textarea({"rows": 4})
    )
    about = forms.CharField(
        label=_("Note"), required=False, max_length=1000, widget=forms.Textarea({"rows": 3})
    )
    seen = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def facts(self) -> dict[str, str]:
        """Return the fields of a customer."""
        return {name: value for name, value in self.cleaned_data.items() if name != "seen"}


class EraseForm(forms.Form):
    """Erasing somebody's data, said twice."""

    notes = forms.BooleanField(
        label=_("Empty the notes and tracking notes of their orders too"), initial=True,
        required=False, help_text=_("People write names and addresses there."),
    )  # fmt: skip
    sure = forms.BooleanField(label=_("Yes, erase this person's data for good"))


class NicknameForm(forms.Form):
    """What people here call a layout."""

    word = forms.CharField(
        label=_("Nickname"), max_length=60, widget=forms.TextInput({"autocapitalize": "none"})
    )
    layout = forms.CharField(
        label=_("Layout"), max_length=60,
        help_text=_("A name of the catalogue, or of one of the shop's own."),
        widget=forms.TextInput({"autocapitalize": "none", "spellcheck": "false"}),
    )  # fmt: skip

    def clean_layout(self) -> str:
        """Find the layout; a nickname of one layout will do."""
        word = self.cleaned_data["layout"]
        meant = layouts_named(word)
        if len(meant) > 1:
            titles = ", ".join(layout_titles(meant))
            raise forms.ValidationError(
                _now("%(word)s means several layouts: write one of %(codes)s.")
                % {"word": word, "codes": titles}
            )
        # What is no layout at all is said by the action, with what there is.
        return meant[0] if meant else word


class ShareForm(forms.Form):
    """How long a customer's link is good."""

    days = forms.IntegerField(
        label=_("Good for how many days"), initial=14, widget=typed("numeric"),
        validators=[MinValueValidator(1), MaxValueValidator(MOST_DAYS)],
    )  # fmt: skip


class YesForm(forms.Form):
    """The customer's yes."""

    name = forms.CharField(
        label=_("Your name"), max_length=120, widget=forms.TextInput({"autocomplete": "name"})
    )
    words = forms.CharField(
        label=_("Anything to add"), required=False, max_length=500,
        widget=forms.Textarea({"rows": 3}),
    )  # fmt: skip
    seen = forms.CharField(widget=forms.HiddenInput, max_length=64)
