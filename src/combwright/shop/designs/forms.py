"""What all forms of designs share: rows for holes, fields that say what is wrong, files, keys.

A form has fields for as many holes as there can be. Those beyond the number of holes are sent along
unseen, so that a number put down and up again loses nothing that was typed.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.comb.seats import MOST_HOLES
from combwright.files.opening import MEBIBYTE
from combwright.files.settings import MOST_MIB
from combwright.notes.keys import ORDINARY_KEYS, Key, parse_key
from combwright.shop.designs.models import LONGEST_CODE, LONGEST_TITLE
from combwright.shop.designs.numbers import WholeField
from combwright.shop.designs.queries import tidy_code

_CODE: Final = frozenset("abcdefghijklmnopqrstuvwxyz0123456789-")
_USUAL_HOLES: Final = 10
_NOTHING: Final[Mapping[str, Any]] = MappingProxyType({})


class LineField(forms.CharField):
    """One line of visible characters."""

    def clean(self, value: Any) -> Any:
        """Refuse characters that cannot be seen: the readers of files do."""
        text = str(super().clean(value) or "")
        hidden = next((c for c in text if not c.isprintable()), None)
        if hidden is not None:
            raise forms.ValidationError(
                _now("There is a character in it that cannot be seen (U+%04X); type it anew.")
                % ord(hidden)
            )
        return text


class ProseField(LineField):
    """A text that may run over lines; line ends become blanks, as its file has it."""

    def __init__(self, **options: Any) -> None:
        super().__init__(widget=forms.Textarea({"rows": 4}), **options)

    def clean(self, value: Any) -> Any:
        """Put the text on one line."""
        return super().clean(" ".join(str(value or "").split()))


class CodeField(LineField):
    """What orders and files call a design."""

    def __init__(self) -> None:
        super().__init__(
            label=_("Name in lists and files"),
            help_text=_("Such as low-drone: small letters, digits and hyphens. It stays for good. "
                        "Left empty, it is made of the title."),
            required=False,
            max_length=LONGEST_CODE,
            widget=forms.TextInput({"autocapitalize": "none", "spellcheck": "false"}),
        )  # fmt: skip

    def clean(self, value: Any) -> Any:
        """Read the name as it is stored."""
        code = tidy_code(super().clean(value))
        if not _CODE.issuperset(code):
            raise forms.ValidationError(
                _now("%r has more in it than small letters, digits and hyphens.") % code
            )
        return code


class HolesForm(forms.Form):
    """A form with a row of fields for each hole.

    Parameters
    ----------
    data : mapping or None
        What was sent.
    initial : mapping
        What the design says now.
    new : bool
        Whether a design is made: then it can be given a code.
    judged : bool
        False to show what was sent without judging it, with as many rows as it asks for.
    """

    title = LineField(label=_("Title"), max_length=LONGEST_TITLE)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        initial: Mapping[str, Any] = _NOTHING,
        new: bool = False,
        judged: bool = True,
    ) -> None:
        self.filled = dict(initial) if data is None else {key: data[key] for key in data}
        super().__init__(data if judged else None, initial=self.filled)
        self.holes = _holes_asked(self.filled.get("holes"))
        if new:
            self.fields["code"] = CodeField()
        self.build()
        self.fields["holes"] = WholeField(1, MOST_HOLES, label=_("Number of holes"))
        self.order_fields(["title", "code"])

    def build(self) -> None:
        """Add the fields of the design's kind."""
        raise NotImplementedError

    def add_row_field(self, name: str, hole: int, field: forms.Field) -> None:
        """Add a field of a hole; beyond the last hole it is sent along unseen and unread."""
        unseen = forms.CharField(required=False, initial=field.initial, widget=forms.HiddenInput)
        self.fields[name] = field if hole <= self.holes else unseen


def _holes_asked(value: Any) -> int:
    text = str(value).strip()
    fits = text.isdecimal() and len(text) <= 2 and 1 <= int(text) <= MOST_HOLES
    return int(text) if fits else _USUAL_HOLES


class UploadForm(forms.Form):
    """A TOML file; its text comes along when the page is shown again, so it is chosen once."""

    file = forms.FileField(label=_("TOML file"), help_text=_("At most 1 MiB."), required=False)
    text = forms.CharField(required=False, strip=False, widget=forms.HiddenInput)
    name = forms.CharField(required=False, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        """Refuse a file that is too large, and none at all."""
        said = self.cleaned_data
        file: UploadedFile[bytes] | None = said.get("file")
        if file is None and not said.get("text") and "file" not in self.errors:
            self.add_error("file", _now("Choose a file."))
        if file is not None and (file.size or 0) > MOST_MIB * MEBIBYTE:
            wrong = _now("The file has %(size).1f MiB; the most is %(most)d MiB.")
            self.add_error("file", wrong % {"size": (file.size or 0) / MEBIBYTE, "most": MOST_MIB})
        return said

    def keep(self, text: str, name: str) -> None:
        """Let the page that is shown again carry a text and its file's name; or none."""
        sent = {key: self.data[key] for key in self.data}
        self.data = {**sent, "text": text, "name": name}

    def contents(self) -> tuple[str, bytes]:
        """Return the name and the bytes of the file that was chosen now, or before."""
        said = self.cleaned_data
        if said["file"] is not None:
            return said["file"].name or "file.toml", said["file"].read()
        # Browsers send every line end as CR LF.
        return said["name"] or "file.toml", said["text"].replace("\r\n", "\n").encode()


class KeyForm(forms.Form):
    """The key in which layouts are shown."""

    key = forms.ChoiceField(
        label=_("Key"),
        required=False,
        choices=[
            (_("ordinary"), [(key, key) for key in ORDINARY_KEYS]),
            (_("an octave lower"), [(f"low {key}", _("low %s") % key) for key in ORDINARY_KEYS]),
            (_("an octave higher"), [(f"high {key}", _("high %s") % key) for key in ORDINARY_KEYS]),
        ],
    )

    def __init__(self, data: Mapping[str, Any]) -> None:
        super().__init__({"key": data.get("key") or "C"})

    def chosen(self) -> Key:
        """Return the key; C for one that there is not."""
        return parse_key(self.cleaned_data["key"] if self.is_valid() else "C")
