"""What narrows the list of jobs."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from combwright.shop.jobs.models import Job

_ANY = [("", _("any"))]


class JobsForm(forms.Form):
    """Which jobs to list; only those who see everybody's are asked whose.

    Parameters
    ----------
    watcher : bool
        Whether they do.
    """

    whose = forms.ChoiceField(
        label=_("Whose"), choices=[("", _("everybody's")), ("mine", _("my own"))], required=False
    )
    state = forms.ChoiceField(label=_("State"), choices=_ANY + Job.STATES, required=False)

    def __init__(self, *args: Any, watcher: bool, **options: Any) -> None:
        super().__init__(*args, **options)
        if not watcher:
            del self.fields["whose"]
