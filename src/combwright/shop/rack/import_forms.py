"""What people fill in to import a file."""

from typing import Final

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.files.opening import MEBIBYTE
from combwright.shop.rack.models import Upload

MOST_MIB: Final = 16


class UploadForm(forms.Form):
    """A file, and how its numbers are written."""

    file = forms.FileField(
        label=_("Rack as CSV or XLSX"),
        help_text=_("At most 16 MiB. Columns: bin, pitch, slot_mm, mount, count; and if wanted "
                    "cents, batch, cost, cut, walk, held."),
    )  # fmt: skip
    decimal = forms.ChoiceField(
        label=_("Decimal mark"),
        required=False,
        choices=[("", _("told from the file")), *Upload.DECIMALS],
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
