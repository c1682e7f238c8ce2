"""Several reeds at once: a short recording of them, and what it says."""

from collections.abc import Sequence
from typing import Any, Final

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods

from combwright.errors import CombwrightError
from combwright.files.sounds import sound_of
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.tuning.aims import Aim, aims
from combwright.shop.tuning.clocks import clock_of
from combwright.shop.tuning.live_views import instrument_of, lent, listening
from combwright.shop.tuning.models import Microphone
from combwright.shop.tuning.together import hear_together

FEWEST, MOST = 2, 3
_MOST_SECONDS: Final = 30
_MOST_SAMPLES: Final = 8_000_000


class TogetherForm(forms.Form):
    """Which reeds sound, and the recording of them."""

    def __init__(self, *args: Any, there: Sequence[Aim], **more: Any) -> None:
        super().__init__(*args, **more)
        self._there: Final = {aim.place: aim for aim in there}
        self.fields["reeds"].choices = [  # type: ignore[attr-defined]
            (aim.place, f"{aim.label} {aim.note}") for aim in there
        ]

    reeds = forms.MultipleChoiceField(
        label=_("Which reeds sound"),
        help_text=_("Two or three."),
        widget=forms.CheckboxSelectMultiple(),
    )
    microphone = forms.ModelChoiceField(
        Microphone.objects.all(), label=_("Microphone"), required=False,
        empty_label=_("one that has no name here"),
    )  # fmt: skip
    file = forms.FileField(
        label=_("Recording, WAV or FLAC"),
        help_text=_("They alone, for a second or more."),
        widget=forms.ClearableFileInput({"accept": ".wav,.flac,audio/wav,audio/flac"}),
    )

    def clean_reeds(self) -> list[Aim]:
        """Return what the reeds aim at."""
        chosen = [self._there[place] for place in self.cleaned_data["reeds"]]
        if not FEWEST <= len(chosen) <= MOST:
            raise forms.ValidationError(
                _("%(n)d reeds are ticked; two or three at once can be told apart."),
                params={"n": len(chosen)},
            )
        return chosen

    def clean(self) -> dict[str, Any]:
        """Hear the recording."""
        given: dict[str, Any] = super().clean() or {}
        if self.errors:
            return given
        try:
            file = given["file"]
            read = sound_of(
                file, file.name, most_seconds=_MOST_SECONDS, most_samples=_MOST_SAMPLES
            ).sound
            given["warnings"] = read.warnings
            clock = clock_of(given["microphone"])
            given["heard"] = hear_together(read.value, given["reeds"], clock)
        except CombwrightError as error:
            self.add_error("file", str(error))
        return given


@require_http_methods(["GET", "HEAD", "POST"])
@needs(May.TUNE)
def together(request: ShopRequest, serial: str) -> HttpResponse:
    """Say how two or three reeds of an instrument sound together."""
    instrument = instrument_of(serial)
    there = aims(instrument)
    start = {"reeds": request.GET.getlist("reed")}
    form = TogetherForm(request.POST or None, request.FILES or None, there=there, initial=start)
    context: dict[str, Any] = {"instrument": instrument, "form": form, **listening(there)}
    if form.is_valid():
        context |= {"heard": form.cleaned_data["heard"], "warnings": form.cleaned_data["warnings"]}
    status = 422 if form.is_bound and not form.is_valid() else 200
    return lent(render(request, "tuning/together.html", context, status=status))
