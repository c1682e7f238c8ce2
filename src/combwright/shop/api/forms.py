"""What is filled in to let a program in."""

from datetime import datetime, timedelta
from typing import Any, Final

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from combwright.shop.api.document import SCHEME, openapi
from combwright.shop.api.models import scope_of
from combwright.shop.people.roles import May, allowed

#: A token that nobody remembers must not open for ever.
LONGEST_DAYS: Final = 2 * 365
_USUAL_DAYS: Final = 180


def scopes_in_use() -> frozenset[str]:
    """Return the scopes that some operation asks for: a token for others would open nothing."""
    return frozenset(
        scope
        for operations in openapi()["paths"].values()
        for operation in operations.values()
        for scope in operation["security"][0][SCHEME]
    )


class TokenForm(forms.Form):
    """A program, what it may do, and until when."""

    name = forms.CharField(
        label=_("Program"),
        help_text=_("What it is, so that everybody knows it later: web shop, stock script."),
        max_length=60,
    )
    scopes = forms.MultipleChoiceField(
        label=_("What it may do"),
        help_text=_("As little as it needs. It never may more than you may."),
        widget=forms.CheckboxSelectMultiple,
    )
    until = forms.DateField(
        label=_("Good until"),
        help_text=_("The last day on which it opens; two years from now at most."),
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )

    def __init__(self, *args: Any, role: str, **options: Any) -> None:
        super().__init__(*args, **options)
        used = scopes_in_use()
        self.fields["scopes"].choices = [  # type: ignore[attr-defined]
            (scope_of(each), f"{each.words} ({scope_of(each)})")
            for each in May
            if scope_of(each) in used and allowed(role, each)
        ]
        self.fields["until"].initial = timezone.localdate() + timedelta(days=_USUAL_DAYS)

    def clean_until(self) -> datetime:
        """Return the end of the day, if it is one to come and not too far."""
        day, today = self.cleaned_data["until"], timezone.localdate()
        if day < today:
            raise forms.ValidationError(_("This day is over; choose today or a day to come."))
        if day > today + timedelta(days=LONGEST_DAYS):
            raise forms.ValidationError(_("That is too far: two years from now are the most."))
        following = datetime.combine(day + timedelta(days=1), datetime.min.time())
        return timezone.make_aware(following)
