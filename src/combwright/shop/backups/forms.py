"""The schedule of backups, as it is filled in."""

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from combwright.shop.backups.models import BackupPlan

if TYPE_CHECKING:
    _Form = forms.ModelForm[BackupPlan]
else:
    _Form = forms.ModelForm


class PlanForm(_Form):
    """When backups are made, how many are kept, and where."""

    class Meta:
        """What is asked."""

        model = BackupPlan
        fields = ("on", "at", "keep_daily", "keep_weekly", "keep_monthly", "folder")
        widgets: ClassVar = {
            "at": forms.TimeInput({"type": "time"}, format="%H:%M"),
            "keep_daily": forms.NumberInput({"inputmode": "numeric"}),
            "keep_weekly": forms.NumberInput({"inputmode": "numeric"}),
            "keep_monthly": forms.NumberInput({"inputmode": "numeric"}),
        }
        help_texts: ClassVar = {
            "at": gettext_lazy("If the shop is closed then, the backup is made when it opens."),
            "keep_daily": gettext_lazy("The newest backup of each of so many days stays."),
            "keep_weekly": gettext_lazy("And the newest of each of so many weeks."),
            "keep_monthly": gettext_lazy("And the newest of each of so many months."),
            "folder": gettext_lazy(
                "On the shop's machine, from its root; best on another disk. Empty: the folder "
                "backups beside the shop's data."
            ),
        }

    def clean_folder(self) -> str:
        """Check that backups can be written there."""
        given: str = self.cleaned_data["folder"].strip()
        if given:
            _check_folder(Path(given))
        return given

    @property
    def said(self) -> dict[str, Any]:
        """What was filled in."""
        return {name: self.cleaned_data[name] for name in self.Meta.fields}


def _check_folder(path: Path) -> None:
    if not path.is_absolute():
        raise forms.ValidationError(
            _("Write the whole path, from the root; %(path)r begins somewhere else.")
            % {"path": str(path)}
        )
    try:
        path.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=path):
            pass
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.errno else str(error)
        raise forms.ValidationError(
            _("Nothing can be written to %(path)r (%(why)s); name another folder.")
            % {"path": os.fspath(path), "why": why}
        ) from error
