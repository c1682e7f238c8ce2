"""What people fill in about orders: looking for them, their facts, their division."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils import timezone
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.errors import CombwrightError
from combwright.files.orders import LOWEST_PRIORITY
from combwright.shop.orders import queries
from combwright.shop.orders.models import Customer, Order, Wish
from combwright.shop.orders.places import check_number
from combwright.shop.orders.queries import Search
from combwright.shop.orders.states import STATES

_MOST_MONEY: Final = Decimal("999999999.99")


def typed(mode: str, **more: str) -> forms.TextInput:
    """Return a text box with a keyboard of numbers: a number box would drop what was mistyped."""
    return forms.TextInput({"inputmode": mode, "autocomplete": "off", **more})


def day_box() -> forms.DateInput:
    """Return a box for a day, with the browser's calendar."""
    return forms.DateInput({"type": "date"}, format="%Y-%m-%d")


class SearchForm(forms.Form):
    """Looking for orders."""

    DUE: Final = (
        ("", _("any day")),
        ("-1", _("overdue")),
        ("7", _("within 7 days")),
        ("30", _("within 30 days")),
    )
    text = forms.CharField(label=_("Number or customer"), required=False, max_length=60)
    state = forms.ChoiceField(
        label=_("State"),
        required=False,
        choices=[("", _("any")), ("way", _("all under way")), *STATES],
    )
    due = forms.ChoiceField(label=_("Due"), required=False, choices=DUE)

    def search(self) -> Search:
        """Return what is looked for; wrong fields look for nothing in particular."""
        given = self.cleaned_data if self.is_valid() else getattr(self, "cleaned_data", {})
        days = given.get("due") or ""
        return Search(
            text=given.get("text") or "",
            state=given.get("state") or "",
            due_by=queries.due_by(int(days), timezone.localdate()) if days else None,
        )


class MoneyField(forms.DecimalField):
    """An amount of money, never below zero."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            min_value=Decimal(0), max_value=_MOST_MONEY, decimal_places=2, localize=True,
            widget=typed("decimal"), **options,
        )  # fmt: skip


class OrderForm(forms.Form):
    """An order's own facts.

    Parameters
    ----------
    data : mapping or None
        What was sent.
    new : bool
        Whether it is made: then its number can be chosen.
    """

    number = forms.CharField(
        label=_("Number"), required=False, max_length=40,
        help_text=_("Such as W-0017. Left empty, it gets the next one."),
    )  # fmt: skip
    customer = forms.CharField(
        label=_("Customer"), required=False, max_length=140,
        help_text=_("The name. Of several with one name, add the key, such as Ida Morrow #12."),
        widget=forms.TextInput({"autocomplete": "off"}),
    )  # fmt: skip
    new_customer = forms.BooleanField(
        label=_("This is a new customer; write the name down"), required=False
    )
    due = forms.DateField(label=_("Due"), required=False, widget=day_box())
    promised = forms.BooleanField(
        label=_("Promised"), required=False, help_text=_("It is served before any other.")
    )
    priority = forms.IntegerField(
        label=_("Priority"), initial=5, help_text=_("1 is served first; 5 is ordinary."),
        validators=[MinValueValidator(1), MaxValueValidator(LOWEST_PRIORITY)],
        widget=typed("numeric"),
    )  # fmt: skip
    value = MoneyField(
        label=_("Value of one copy"), initial=1,
        help_text=_("What it is worth to the shop to deliver one; the plan weighs orders by it."),
    )  # fmt: skip
    price = MoneyField(
        label=_("Price of the whole order"), required=False,
        help_text=_("Shown to the customer on their link. Left empty, no price is shown."),
    )  # fmt: skip
    note = forms.CharField(
        label=_("Note"), required=False, max_length=1000,
        help_text=_("For the shop; the customer does not see it."),
        widget=forms.Textarea({"rows": 3}),
    )  # fmt: skip

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        new: bool = False,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=dict(initial or {}))
        if not new:
            del self.fields["number"]

    def clean_number(self) -> str:
        """Refuse a number that could be no page's address, and one that is taken."""
        number: str = self.cleaned_data["number"]
        if not number:
            return ""
        try:
            check_number(number)
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error
        if Order.objects.filter(number=number).exists():
            raise forms.ValidationError(
                _now("There is an order %s already; choose another number.") % number
            )
        return number

    def clean(self) -> dict[str, Any]:
        """Find the customer that is meant."""
        said = self.cleaned_data
        name = " ".join((said.get("customer") or "").split())
        said["customer"], said["new_name"] = None, ""
        if not name:
            if said.get("new_customer"):
                self.add_error("customer", _now("Write the new customer's name."))
        elif said.get("new_customer"):
            said["new_name"] = name
            if len(name) > Customer._meta.get_field("name").max_length:  # type: ignore[operator]
                self.add_error("customer", _now("The name has more than 120 characters."))
        else:
            said["customer"] = self._customer(name)
        return said

    def _customer(self, name: str) -> Customer | None:
        found = customers_called(name)
        if len(found) == 1:
            return found[0]
        if not found:
            wrong = _now("There is no customer %r yet; tick that it is a new one.") % name
        else:
            written = _now(" or ").join(f"{each.name} #{each.pk}" for each in found[:4])
            wrong = _now("Several customers have that name: write %s.") % written
        self.add_error("customer", wrong)
        return None

    def facts(self) -> dict[str, Any]:
        """Return the fields of an order, without its customer where a new one is to be made."""
        names = ("number", "customer", "due", "promised", "priority", "value", "price", "note")
        return {name: self.cleaned_data[name] for name in names if name in self.cleaned_data}


def customers_called(name: str) -> list[Customer]:
    """Return the customers that a typed name means; `Ida Morrow #12` means the one of that key."""
    kept = Customer.objects.filter(erased_at=None)
    before, _sign, key = name.rpartition("#")
    if before and key.isascii() and key.isdecimal() and len(key) <= 18:
        return list(kept.filter(name__iexact=before.strip(), pk=int(key)))
    return list(kept.filter(name__iexact=name)[:5])


def order_said(order: Order) -> dict[str, Any]:
    """Return an order's facts as its form shows them."""
    customer = order.customer
    named = "" if customer is None else customer.name
    if customer is not None and len(customers_called(named)) != 1:
        named = f"{named} #{customer.pk}"
    names = ("due", "promised", "priority", "value", "price", "note")
    return {name: getattr(order, name) for name in names} | {"customer": named}


class SeenForm(forms.Form):
    """The version of an order that somebody looked at."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)


class SplitForm(SeenForm):
    """How many copies of each row move into a further delivery, and when that is due."""

    due = forms.DateField(label=_("The new delivery is due"), required=False, widget=day_box())

    def __init__(
        self,
        data: Mapping[str, Any] | None,
        *,
        wishes: Sequence[Wish],
        initial: Mapping[str, Any],
    ) -> None:
        super().__init__(data, initial=dict(initial))
        self.rows = [wish.row for wish in wishes]
        for wish in wishes:
            self.fields[f"row_{wish.row}"] = forms.IntegerField(
                label=_now("Copies of row %d to move") % wish.row,
                help_text=_now("Of %(n)d: %(what)s")
                % {"n": wish.quantity, "what": f"{wish.key} {wish.layout}"},
                required=False,
                validators=[MinValueValidator(0), MaxValueValidator(wish.quantity)],
                widget=typed("numeric"),
            )

    def moves(self) -> dict[int, int]:
        """Return how many copies of each row move."""
        return {row: self.cleaned_data.get(f"row_{row}") or 0 for row in self.rows}

    def due_day(self) -> date | None:
        """Return when the new delivery is due."""
        day: date | None = self.cleaned_data["due"]
        return day
