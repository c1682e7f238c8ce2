"""What people fill in about labels, scanning and single plates."""

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any, ClassVar
from urllib.parse import urlsplit

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from combwright.sheets.bad_sheet import BadSheet
from combwright.shop.papers.choice import MOST_LABELS, Choice
from combwright.shop.papers.models import LabelSize
from combwright.shop.papers.written import BATCH, BIN, PLATE
from combwright.shop.rack.models import MILLICENTS_PER_CENT, Batch, Bin, Plate
from combwright.shop.rack.plate_actions import MOST_AT_ONCE

if TYPE_CHECKING:
    _SizeForm = forms.ModelForm[LabelSize]
else:
    _SizeForm = forms.ModelForm

_HOST = re.compile(r"[a-z0-9.-]+|\[[0-9a-f:.]+\]")


def _typed(mode: str) -> forms.TextInput:
    return forms.TextInput({"inputmode": mode, "autocomplete": "off"})


class ScanForm(forms.Form):
    """A code, as a hand scanner types it: the text and then Enter."""

    text = forms.CharField(
        label=gettext_lazy("Code"),
        max_length=600,
        widget=forms.TextInput(
            {
                "autofocus": True, "autocomplete": "off", "autocapitalize": "none",
                "spellcheck": "false", "enterkeyhint": "go",
            }
        ),
        error_messages={"required": gettext_lazy("Scan a label, or type its code.")},
    )  # fmt: skip


class LabelsForm(forms.Form):
    """Which labels, of which size, from which label of the sheet on."""

    what = forms.ChoiceField(
        label=gettext_lazy("Labels for"),
        choices=[
            (BIN, gettext_lazy("bins")),
            (BATCH, gettext_lazy("batches")),
            (PLATE, gettext_lazy("single plates")),
        ],
        widget=forms.RadioSelect,
    )
    text = forms.CharField(
        label=gettext_lazy("Whose name or place holds"), required=False, max_length=60
    )
    batch = forms.ModelChoiceField(
        Batch.objects.all(),
        label=gettext_lazy("Of the batch"),
        required=False,
        to_field_name="code",
        empty_label=gettext_lazy("any"),
    )
    since = forms.DateField(
        label=gettext_lazy("Changed or labelled since"),
        help_text=gettext_lazy(
            "Bins that something came into or went out of since that day, or plates labelled since."
        ),
        required=False,
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
    )
    codes = forms.CharField(
        label=gettext_lazy("Or just these, one a line"),
        required=False,
        max_length=4000,
        widget=forms.Textarea({"rows": 3, "spellcheck": "false"}),
    )
    size = forms.ModelChoiceField(
        LabelSize.objects.all(), label=gettext_lazy("Label size"), empty_label=None
    )
    begin = forms.IntegerField(
        label=gettext_lazy("Begin at label"),
        help_text=gettext_lazy("The first free one of a used sheet, counted along the rows."),
        initial=1,
        validators=[MinValueValidator(1), MaxValueValidator(1600)],
        widget=_typed("numeric"),
    )
    origin = forms.CharField(
        label=gettext_lazy("Address of the shop"),
        help_text=gettext_lazy(
            "As phones reach it, such as http://192.168.1.20:8000: their own camera then opens "
            "the labels. Empty: only this shop's page Scan reads them."
        ),
        required=False,
        max_length=100,
        widget=forms.URLInput({"autocomplete": "off", "spellcheck": "false"}),
    )

    def clean_codes(self) -> tuple[str, ...]:
        """Return the codes, each once, in the order given."""
        lines = [line.strip() for line in self.cleaned_data["codes"].splitlines()]
        return tuple(dict.fromkeys(line for line in lines if line))[: MOST_LABELS + 1]

    def clean_origin(self) -> str:
        """Return the address without a path, or say what is wrong with it."""
        given = self.cleaned_data["origin"].strip().rstrip("/")
        if not given:
            return ""
        wrong = _("%(given)s is no address of a shop; give one such as http://192.168.1.20:8000.")
        try:
            parts = urlsplit(given)
            port = parts.port
        except ValueError:
            raise forms.ValidationError(wrong, params={"given": given}) from None
        host = (parts.hostname or "").encode("idna").decode() if parts.hostname else ""
        if ":" in host:
            host = f"[{host}]"
        plain = f"{parts.scheme}://{host}" + (f":{port}" if port else "")
        only_a_host = not (parts.path or parts.query or parts.fragment or parts.username)
        if parts.scheme not in ("http", "https") or not _HOST.fullmatch(host) or not only_a_host:
            raise forms.ValidationError(wrong, params={"given": given})
        return plain

    def clean(self) -> dict[str, Any]:
        """Check that the sheet has the label to begin at."""
        said = super().clean() or self.cleaned_data
        size, begin = said.get("size"), said.get("begin")
        if size and begin and begin > size.as_size().on_a_sheet:
            many = size.as_size().on_a_sheet
            text = (
                _("A roll begins at label 1.")
                if size.kind == LabelSize.ROLL
                else _("A sheet of these has labels 1 to %(many)d; it cannot begin at %(begin)d.")
            )
            self.add_error("begin", text % {"many": many, "begin": begin})
        return said

    def choice(self) -> Choice:
        """Return which things are chosen."""
        said = self.cleaned_data
        batch = said["batch"]
        return Choice(
            said["what"], said["text"], batch.code if batch else "", said["since"], said["codes"]
        )


class MillimetresField(forms.DecimalField):
    """A length of a label in millimetres, written as the reader's language writes numbers."""

    def __init__(self, **options: Any) -> None:
        given: dict[str, Any] = {**options, "localize": True, "widget": _typed("decimal")}
        super().__init__(min_value=Decimal(0), max_value=Decimal(400), **given)


class SizeForm(_SizeForm):
    """A label size; the margins and gaps of a roll count for nothing."""

    class Meta:
        """The size's own fields."""

        model = LabelSize
        fields: ClassVar = [
            "title", "kind", "width_mm", "height_mm", "paper", "columns", "rows", "left_mm",
            "top_mm", "gap_x_mm", "gap_y_mm",
        ]  # fmt: skip
        widgets: ClassVar = {
            "kind": forms.RadioSelect,
            "columns": _typed("numeric"),
            "rows": _typed("numeric"),
        }
        field_classes: ClassVar = {
            **dict.fromkeys(("width_mm", "height_mm", "left_mm"), MillimetresField),
            **dict.fromkeys(("top_mm", "gap_x_mm", "gap_y_mm"), MillimetresField),
        }
        help_texts: ClassVar = {
            "title": gettext_lazy("As on the box, or by its measures: 70 x 37 mm, 24 a sheet."),
            "paper": gettext_lazy("Of a roll this and all below count for nothing."),
        }

    def clean(self) -> dict[str, Any]:
        """Check that all labels lie on the paper."""
        said: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors:
            try:
                LabelSize(**said).as_size().places()
            except BadSheet as error:
                self.add_error(None, str(error))
        return said


class NewPlatesForm(forms.Form):
    """How many plates of a bin get a label of their own."""

    plates = forms.IntegerField(
        label=gettext_lazy("How many plates"),
        initial=1,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_AT_ONCE)],
        widget=_typed("numeric"),
    )


class OffsetForm(forms.Form):
    """A plate's own measured offset."""

    cents = forms.DecimalField(
        label=gettext_lazy("Measured offset (cents)"),
        min_value=-600,
        max_value=600,
        decimal_places=3,
        required=False,
        localize=True,
        widget=_typed("text"),
    )

    def millicents(self) -> int | None:
        """Return it in thousandths; None where the field was emptied."""
        cents = self.cleaned_data["cents"]
        return None if cents is None else int(cents * MILLICENTS_PER_CENT)


class PlateMoveForm(forms.Form):
    """Which bin a plate goes to."""

    target = forms.ModelChoiceField(
        Bin.objects.none(), label=gettext_lazy("Into bin"), to_field_name="code"
    )
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=200)

    def __init__(self, *args: Any, plate: Plate, **options: Any) -> None:
        super().__init__(*args, **options)
        same = Bin.objects.filter(midi=plate.midi, batch=plate.batch_id)
        if plate.bin_id is not None:
            same = same.exclude(pk=plate.bin_id)
        self.fields["target"].queryset = same  # type: ignore[attr-defined]


class PlateScrapForm(forms.Form):
    """Why a plate leaves the rack."""

    because = forms.CharField(label=gettext_lazy("Why"), max_length=200)
