"""What is filled in about repertoires and tunes."""

from typing import Any, Final

from django import forms
from django.core.validators import MinValueValidator
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from combwright.shop.look.bodies import MEBIBYTE
from combwright.shop.orders.forms import customers_called, typed
from combwright.shop.orders.models import Customer
from combwright.shop.rack.imports import file_name
from combwright.shop.repertoire.models import Repertoire
from combwright.shop.repertoire.reading import Given
from combwright.shop.repertoire.rows import LONGEST

MOST_MIB: Final = 16
_PASTED: Final = "pasted.abc"
_KINDS: Final = ".abc,.xml,.musicxml,.mxl,.mid,.midi,.zip"


class FindForm(forms.Form):
    """Looking for repertoires."""

    text = forms.CharField(label=_("Name or customer"), required=False, max_length=60)


class FindTuneForm(forms.Form):
    """Looking for tunes."""

    text = forms.CharField(label=_("Title"), required=False, max_length=60)


class RepertoireForm(forms.Form):
    """What is said of a repertoire."""

    name = forms.CharField(
        label=_("Name"), max_length=120, widget=forms.TextInput({"autocomplete": "off"})
    )
    customer = forms.CharField(
        label=_("Customer"), required=False, max_length=140,
        help_text=_("Who plays these tunes. Of several with one name, add the key, such as "
                    "Ida Morrow #12."),
        widget=forms.TextInput({"autocomplete": "off"}),
    )  # fmt: skip
    about = forms.CharField(
        label=_("Note"), required=False, max_length=1000, widget=forms.Textarea({"rows": 3})
    )
    seen = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def clean_name(self) -> str:
        """Leave single blanks between words."""
        return " ".join(str(self.cleaned_data["name"]).split())

    def clean_customer(self) -> Customer | None:
        """Find the customer that is meant."""
        name = " ".join(str(self.cleaned_data["customer"]).split())
        found = customers_called(name) if name else []
        if len(found) > 1:
            written = _now(" or ").join(f"{each.name} #{each.pk}" for each in found[:4])
            raise forms.ValidationError(
                _now("Several customers have that name: write %s.") % written
            )
        if name and not found:
            raise forms.ValidationError(
                _now("There is no customer %r yet; write them down among the customers first.")
                % name
            )
        return found[0] if found else None

    def facts(self) -> dict[str, Any]:
        """Return the fields of a repertoire."""
        return {name: self.cleaned_data[name] for name in ("name", "customer", "about")}


def said(repertoire: Repertoire) -> dict[str, str]:
    """Return what is said of a repertoire, as its form shows it."""
    who = repertoire.customer
    named = "" if who is None else who.name
    if who is not None and len(customers_called(named)) != 1:
        named = f"{named} #{who.pk}"
    return {"name": repertoire.name, "customer": named, "about": repertoire.about}


class ManyFiles(forms.ClearableFileInput):
    """A box for several files."""

    allow_multiple_selected = True


class FilesField(forms.FileField):
    """Several files, or none."""

    widget = ManyFiles

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        """Look at each file by itself."""
        given = data if isinstance(data, list | tuple) else [data]
        return [super(FilesField, self).clean(each, initial) for each in given if each]


class LoadForm(forms.Form):
    """Files of tunes, or ABC as it was copied."""

    sent = FilesField(
        label=_("Files"), required=False, allow_empty_file=True,
        help_text=_("ABC, MusicXML, MXL or MIDI, up to 2,000 files, or a zipped folder of them; "
                    "16 MiB in all."),
        widget=ManyFiles({"accept": _KINDS}),
    )  # fmt: skip
    abc = forms.CharField(
        label=_("Or paste ABC here"), required=False, strip=False, max_length=1_000_000,
        help_text=_("Each tune begins with a line X: and a number."),
        widget=forms.Textarea({"rows": 8, "spellcheck": "false", "autocapitalize": "none"}),
    )  # fmt: skip

    def clean_sent(self) -> list[Any]:
        """Refuse files that are too large together."""
        files: list[Any] = self.cleaned_data["sent"]
        size = sum(each.size or 0 for each in files)
        if size > MOST_MIB * MEBIBYTE:
            raise forms.ValidationError(
                _now("The files have %(size).1f MiB together; the most is %(most)d MiB. Zip them, "
                     "or send them in parts.") % {"size": size / MEBIBYTE, "most": MOST_MIB}
            )  # fmt: skip
        return files

    def clean(self) -> dict[str, Any]:
        """Want one or the other."""
        said = self.cleaned_data
        if said.get("sent") == [] and not (said.get("abc") or "").strip():
            self.add_error("sent", _now("Choose a file, or paste ABC below."))
        return said

    def given(self) -> list[Given]:
        """Return the files, what was pasted last."""
        found = [(file_name(each.name or ""), each.read()) for each in self.cleaned_data["sent"]]
        pasted = self.cleaned_data["abc"]
        return [*found, *([(_PASTED, pasted.encode())] if pasted.strip() else [])]


class TuneForm(forms.Form):
    """A tune's title, and where in the repertoire it stands."""

    title = forms.CharField(
        label=_("Title"), max_length=LONGEST, widget=forms.TextInput({"autocomplete": "off"})
    )
    place = forms.IntegerField(
        label=_("Place"), help_text=_("1 is the first tune of the repertoire."),
        validators=[MinValueValidator(1)], widget=typed("numeric"), max_value=1_000_000,
    )  # fmt: skip
