"""Where a wish that is made of an answer goes."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.shop.orders.models import Order
from combwright.shop.orders.wish_forms import KeyField

NEW: Final = "new"


class WishForm(forms.Form):
    """Where a wish goes, and its key where the answer leaves that open.

    Parameters
    ----------
    drafts : iterable of Order
        Draft orders to choose from.
    may_order : bool
        Whether this person may make a new order.
    any_key : bool
        Whether a row leaves the key open.
    """

    order = forms.ChoiceField(label=_("The wish goes into"))
    key = KeyField()

    def __init__(
        self, data: Any = None, *, drafts: Iterable[Order], may_order: bool, any_key: bool
    ) -> None:
        super().__init__(data, auto_id="wish-%s", initial={"key": "C"})
        field = self.fields["order"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = list(_orders(drafts, may_order=may_order))
        field.error_messages["invalid_choice"] = _now(
            "That order is no draft any more; choose another one."
        )
        if not any_key:
            del self.fields["key"]

    @property
    def can(self) -> bool:
        """Whether there is an order to put a wish into."""
        return bool(self.fields["order"].choices)  # type: ignore[attr-defined]

    def facts(self) -> Mapping[str, str]:
        """Return the number of the order, empty for a new one, and the key."""
        number = self.cleaned_data["order"]
        return {
            "order": "" if number == NEW else number[1:],
            "key": self.cleaned_data.get("key", ""),
        }


def _orders(drafts: Iterable[Order], *, may_order: bool) -> Iterator[tuple[str, str]]:
    if may_order:
        yield NEW, _now("a new draft order")
    for each in drafts:
        who = f", {each.customer}" if each.customer else ""
        yield f"={each.number}", f"{each.number}{who}"
