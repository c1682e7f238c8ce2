"""What people fill in to take orders in from a file."""

from typing import Final

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.files.opening import MEBIBYTE
from combwright.shop.orders.models import OrdersFile

MOST_MIB: Final = 16
DRAFT, OPEN = "draft", "open"


class FileForm(forms.Form):
    """A file, and how its numbers are written."""

    file = forms.FileField(
        label=_("Orders as CSV or XLSX"),
        help_text=_("At most 16 MiB. Columns: order, key, layout; and if wanted what, quantity, "
                    "changes, kit, temperament, a4, comb, due, priority, value, promised, split."),
    )  # fmt: skip
    decimal = forms.ChoiceField(
        label=_("Decimal mark"),
        required=False,
        choices=[("", _("told from the file")), *OrdersFile.DECIMALS],
    )

    def clean_file(self) -> "UploadedFile[bytes]":
        """Refuse a file that is too large."""
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        if (file.size or 0) > MOST_MIB * MEBIBYTE:
            raise forms.ValidationError(
                _now("The file has %(size).1f MiB; the most is %(most)d MiB.")
                % {"size": (file.size or 0) / MEBIBYTE, "most": MOST_MIB}
            )
        return file


class AsForm(forms.Form):
    """As what the orders are taken in."""

    state = forms.ChoiceField(
        label=_("Take them in"),
        choices=[
            (DRAFT, _("as drafts, to be looked at or designed further")),
            (OPEN, _("open for planning at once")),
        ],
        initial=DRAFT,
        widget=forms.RadioSelect,
    )
