"""What is filled in to have a program told of orders."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from combwright.shop.api.guarding import LONGEST, BadAddress, read_address
from combwright.shop.api.hook_models import EVENTS
from combwright.shop.people.roles import Role


class HookForm(forms.Form):
    """Where a program is called, and what it hears of."""

    address = forms.CharField(
        label=_("Address"),
        help_text=_("Where the program waits for calls, as https://shop.example/orders."),
        max_length=LONGEST,
        widget=forms.TextInput({"inputmode": "url", "autocomplete": "off"}),
    )
    events = forms.MultipleChoiceField(
        label=_("What it hears of"),
        help_text=_("It is told the order's number and state, and nothing of the customer."),
        choices=[(name, words) for name, (_state, words) in EVENTS.items()],
        initial=list(EVENTS),
        widget=forms.CheckboxSelectMultiple,
    )
    inside = forms.BooleanField(
        label=_("It is inside our network"),
        help_text=_("Tick this only for a program of your own on this machine or in the house."),
        required=False,
    )

    def __init__(self, *args: Any, role: str, **options: Any) -> None:
        super().__init__(*args, **options)
        if role != Role.OWNER:
            del self.fields["inside"]

    def clean_address(self) -> str:
        """Return an address that can be called."""
        said: str = self.cleaned_data["address"]
        try:
            read_address(said)
        except BadAddress as error:
            raise forms.ValidationError(str(error)) from error
        return said
