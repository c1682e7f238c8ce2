"""What people fill in about the rack; texts are read as the makers' files are."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

from combwright.errors import CombwrightError
from combwright.notes.keys import ORDINARY_KEYS
from combwright.notes.names import parse_note
from combwright.shop.rack.actions import NewBin, Slice
from combwright.shop.rack.models import MICRONS_PER_MM, MILLICENTS_PER_CENT, Batch, Bin
from combwright.shop.rack.queries import Search

MOST_PLATES = 100_000


def typed(mode: str) -> forms.TextInput:
    """Return a text box with a keyboard of numbers: a number box would drop what was mistyped."""
    return forms.TextInput({"inputmode": mode, "autocomplete": "off"})


class NoteField(forms.CharField):
    """A note such as F#5; gives its MIDI number."""

    def clean(self, value: Any) -> Any:
        """Read the note, or say what is wrong with it."""
        text = super().clean(value)
        if not text:
            return None
        try:
            note = parse_note(text)
        except CombwrightError as error:
            raise forms.ValidationError(str(error)) from error
        if note.cents:
            raise forms.ValidationError(_("Give cents in their own field."))
        return note.midi


class LengthField(forms.DecimalField):
    """A slot's length in millimetres; gives whole thousandths."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            min_value=Decimal("0.1"),
            max_value=60,
            max_digits=6,
            decimal_places=3,
            localize=True,
            widget=typed("decimal"),
            **options,
        )

    def clean(self, value: Any) -> Any:
        """Read the length."""
        length = super().clean(value)
        return None if length is None else int(length * MICRONS_PER_MM)


class SearchForm(forms.Form):
    """Looking for bins."""

    text = forms.CharField(label=_("Bin, place or batch"), required=False, max_length=60)
    note = NoteField(label=_("Note"), required=False, max_length=10)
    mount = forms.ChoiceField(
        label=_("Mount"), required=False, choices=[("", _("any")), *Bin.MOUNTS]
    )
    batch = forms.ModelChoiceField(
        Batch.objects.all(), label=_("Batch"), required=False, to_field_name="code"
    )
    fits = LengthField(label=_("Fits a chamber that takes (mm)"), required=False)
    plates = forms.BooleanField(label=_("Only bins with plates"), required=False)

    def search(self) -> Search:
        """Return what is looked for; wrong fields look for nothing in particular."""
        given = self.cleaned_data if self.is_valid() else getattr(self, "cleaned_data", {})
        batch = given.get("batch")
        return Search(
            text=given.get("text") or "",
            midi=given.get("note"),
            mount=given.get("mount") or "",
            batch=batch.code if batch else "",
            fits_um=given.get("fits"),
            with_plates=bool(given.get("plates")),
        )


class PlatesForm(forms.Form):
    """A number of plates, and why."""

    plates = forms.IntegerField(
        label=_("Plates"),
        validators=[MinValueValidator(1), MaxValueValidator(MOST_PLATES)],
        widget=typed("numeric"),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=300)


class LossForm(PlatesForm):
    """A number of plates that leave or come back, with the reason said."""

    note = forms.CharField(label=_("Why"), max_length=300)


class CountForm(forms.Form):
    """How many plates were found."""

    found = forms.IntegerField(
        label=_("Plates found"),
        validators=[MinValueValidator(0), MaxValueValidator(MOST_PLATES)],
        widget=typed("numeric"),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=300)


class MoveForm(PlatesForm):
    """Plates into another bin."""

    target = forms.ModelChoiceField(Bin.objects.none(), label=_("Into bin"), to_field_name="code")

    def __init__(self, *args: Any, source: Bin, **options: Any) -> None:
        super().__init__(*args, **options)
        same = Bin.objects.filter(midi=source.midi, batch=source.batch).exclude(pk=source.pk)
        self.fields["target"].queryset = same  # type: ignore[attr-defined]


class HoldForm(forms.Form):
    """Why a batch is held."""

    because = forms.CharField(label=_("Why it is held"), max_length=200)


class BinForm(forms.Form):
    """A new bin."""

    code = forms.CharField(label=_("Bin"), max_length=40)
    note = NoteField(label=_("Note"), max_length=10)
    cents = forms.DecimalField(
        label=_("Measured offset (cents)"), min_value=-600, max_value=600, decimal_places=3,
        required=False, widget=typed("decimal"),
    )  # fmt: skip
    slot = LengthField(label=_("Slot (mm)"))
    mount = forms.ChoiceField(label=_("Mounted end"), choices=Bin.MOUNTS)
    batch = forms.CharField(label=_("Batch"), max_length=40)
    walk = forms.CharField(label=_("Place on the walk"), max_length=40, required=False)
    cut = forms.CharField(label=_("Cut for hole"), max_length=20, required=False)
    cost = forms.DecimalField(
        label=_("Cost of one plate"),
        min_value=0,
        max_digits=9,
        decimal_places=2,
        required=False,
        widget=typed("decimal"),
    )

    def new_bin(self) -> NewBin:
        """Return what the new bin is to hold."""
        said = self.cleaned_data
        return NewBin(
            code=said["code"],
            midi=said["note"],
            slot_um=said["slot"],
            mount=said["mount"],
            millicents=_millicents(said["cents"]),
            cut=said["cut"],
            walk=said["walk"],
            cost=said["cost"] or Decimal(0),
        )


def _millicents(cents: Decimal | None) -> int:
    return int((cents or Decimal(0)) * MILLICENTS_PER_CENT)


class WhyForm(forms.Form):
    """Why something is taken back."""

    note = forms.CharField(label=_("Why it is taken back"), max_length=300)


class WhichSetForm(forms.Form):
    """Which factory sets came."""

    key = forms.ChoiceField(label=_("Key"), choices=[(key, key) for key in ORDINARY_KEYS])
    batch = forms.CharField(label=_("Batch"), max_length=40)
    sets = forms.IntegerField(
        label=_("How many sets"),
        initial=1,
        validators=[MinValueValidator(1), MaxValueValidator(200)],
        widget=typed("numeric"),
    )
    place = forms.CharField(
        label=_("Name of the drawer"),
        help_text=_("New bins are called after it: A-07 gives A-07-1 to A-07-20."),
        max_length=30,
    )
    cost = forms.DecimalField(
        label=_("Cost of one plate"),
        min_value=0,
        max_digits=9,
        decimal_places=2,
        initial=0,
        widget=typed("decimal"),
    )


class SliceForm(forms.Form):
    """One of a set's twenty plates: its bin, its measures, and how many were lost in slicing."""

    code = forms.CharField(label=_("Bin"), max_length=40)
    midi = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=127)
    cut = forms.CharField(widget=forms.HiddenInput, max_length=20)
    walk = forms.CharField(widget=forms.HiddenInput, max_length=40, required=False)
    cost = forms.DecimalField(widget=forms.HiddenInput, min_value=0, max_digits=9, decimal_places=2)
    cents = forms.DecimalField(
        label=_("Offset (cents)"),
        min_value=-600,
        max_value=600,
        decimal_places=3,
        required=False,
        widget=typed("decimal"),
    )
    slot = LengthField(label=_("Slot (mm)"))
    mount = forms.ChoiceField(label=_("Mounted end"), choices=Bin.MOUNTS)
    lost = forms.IntegerField(label=_("Lost"), min_value=0, initial=0, widget=typed("numeric"))

    def slice(self, sets: int) -> Slice:
        """Return the plate's bin, and how many of so many sets came out whole."""
        said = self.cleaned_data
        new = NewBin(
            code=said["code"],
            midi=said["midi"],
            slot_um=said["slot"],
            mount=said["mount"],
            millicents=_millicents(said["cents"]),
            cut=said["cut"],
            walk=said["walk"],
            cost=said["cost"],
        )
        return Slice(new, max(sets - said["lost"], 0))


SliceFormSet = forms.formset_factory(SliceForm, extra=0, min_num=0, max_num=20, absolute_max=20)
