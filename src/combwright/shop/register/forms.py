"""What people ask the register for."""

from django import forms
from django.utils.translation import gettext_lazy as _


class FindForm(forms.Form):
    """Part of a serial number, an order's number or a customer's name."""

    text = forms.CharField(
        label=_("Serial number, order or customer"),
        max_length=100,
        required=False,
        widget=forms.TextInput({"type": "search", "inputmode": "search"}),
    )
