"""What is filled in to change a bin's or an item's own facts.

Each field carries what it showed when the page was sent, so that only what this person changed is
written: what somebody else changed meanwhile stays.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from combwright.shop.rack.forms import LengthField, NoteField, typed
from combwright.shop.rack.item_forms import KeyField, MoneyField, seen_in_full
from combwright.shop.rack.models import (
    MICRONS_PER_MM,
    MILLICENTS_PER_CENT,
    Bin,
    Item,
)


class _ChangeForm(forms.Form):
    """Some facts, and why they change."""

    why = forms.CharField(label=_("Why"), required=False, max_length=300)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for name, field in self.fields.items():
            field.show_hidden_initial = name != "why"

    def facts(self) -> dict[str, Any]:
        """Return what this person changed."""
        changed = set(self.changed_data) - {"why"}
        return {name: value for name, value in self.cleaned_data.items() if name in changed}


class BinChangeForm(_ChangeForm):
    """A bin's own facts; its note and batch only while it has no ledger."""

    walk = forms.CharField(
        label=_("Place on the walk"), max_length=40, required=False, validators=[seen_in_full]
    )
    slot_um = LengthField(label=_("Slot (mm)"))
    mount = forms.ChoiceField(label=_("Mounted end"), choices=Bin.MOUNTS)
    millicents = forms.DecimalField(
        label=_("Measured offset (cents)"), min_value=-600, max_value=600, decimal_places=3,
        required=False, localize=True, widget=typed("decimal"),
    )  # fmt: skip
    cut = forms.CharField(
        label=_("Cut for hole"), max_length=20, required=False, validators=[seen_in_full]
    )
    cost = MoneyField(label=_("Cost of one plate"))
    midi = NoteField(label=_("Note"), max_length=10)
    batch = forms.CharField(label=_("Batch"), max_length=40, validators=[seen_in_full])
    field_order = ("midi", "batch", "walk", "slot_um", "mount", "millicents", "cut", "cost", "why")

    def __init__(self, *args: Any, holder: Bin, **options: Any) -> None:
        initial = {
            "walk": holder.walk,
            "slot_um": Decimal(holder.slot_um) / MICRONS_PER_MM,
            "mount": holder.mount,
            "millicents": Decimal(holder.millicents) / MILLICENTS_PER_CENT,
            "cut": holder.cut,
            "cost": holder.cost,
            "midi": holder.note,
            "batch": holder.batch.code,
        }
        super().__init__(*args, initial=initial, **options)
        if holder.count or holder.lines.exists():
            del self.fields["midi"], self.fields["batch"]

    def clean_millicents(self) -> int:
        """Return whole thousandths."""
        return int((self.cleaned_data["millicents"] or 0) * MILLICENTS_PER_CENT)


class ItemChangeForm(_ChangeForm):
    """An item's own facts; what lies in it only while it has no ledger."""

    about = forms.CharField(
        label=_("What it is"), max_length=200, required=False, validators=[seen_in_full]
    )
    walk = forms.CharField(
        label=_("Place on the walk"), max_length=40, required=False, validators=[seen_in_full]
    )
    cost = MoneyField(label=_("Cost of one"))
    key = KeyField(label=_("Key"), max_length=10)
    batch = forms.CharField(label=_("Batch"), max_length=40, validators=[seen_in_full])
    part = forms.CharField(label=_("Part"), max_length=40, validators=[seen_in_full])
    field_order = ("key", "batch", "part", "about", "walk", "cost", "why")

    def __init__(self, *args: Any, holder: Item, **options: Any) -> None:
        names = ("about", "walk", "cost", "key", "part")
        initial: Mapping[str, Any] = {name: getattr(holder, name) for name in names}
        batch = holder.batch.code if holder.batch else ""
        super().__init__(*args, initial={**initial, "batch": batch}, **options)
        settled = bool(holder.count) or holder.lines.exists()
        is_part = holder.kind == Item.PART
        for name, shown in (("key", not is_part), ("batch", not is_part), ("part", is_part)):
            if settled or not shown:
                del self.fields[name]
