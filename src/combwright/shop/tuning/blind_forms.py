"""What is chosen before a blind test."""

from collections.abc import Sequence
from typing import Any, Final, cast

from django import forms
from django.utils.translation import gettext_lazy as _

from combwright.ear.blind import least_right
from combwright.ear.sound import BadSound
from combwright.shop.orders.forms import typed
from combwright.shop.register.models import Take
from combwright.shop.tuning.blind_sound import check
from combwright.shop.tuning.take_comparing import Beside

FEWEST, MOST, USUAL = 5, 100, 16


class BlindForm(forms.Form):
    """The seat to listen to and how often.

    Parameters
    ----------
    a, b : Take
        What A and B are.
    rows : sequence of Beside
        Their seats.
    """

    place = forms.ChoiceField(label=_("Seat"))
    trials = forms.IntegerField(
        label=_("Trials"), min_value=FEWEST, max_value=MOST, initial=USUAL,
        widget=typed("numeric"),
        help_text=_("Choose their number before you listen; the result comes after the last."),
    )  # fmt: skip

    LABEL: Final = "%(label)s, %(note)s"

    def __init__(
        self, *args: Any, a: Take, b: Take, rows: Sequence[Beside], **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self._takes = a, b
        cast("forms.ChoiceField", self.fields["place"]).choices = [
            (row.a.place, self.LABEL % {"label": row.label, "note": row.a.note})
            for row in rows
            if row.a is not None and row.b is not None and row.same_note
        ]

    def clean_place(self) -> str:
        """See that the seat can be listened to in both."""
        place: str = self.cleaned_data["place"]
        try:
            check(*self._takes, place)
        except BadSound as error:
            raise forms.ValidationError(str(error)) from error
        return place


def wanted(trials: int) -> int:
    """Return how many right answers mean that somebody hears a difference."""
    return least_right(trials) or trials
