"""The schedule of backups, and what the last look at each backup found."""

import datetime as dt
import uuid
from pathlib import Path
from typing import ClassVar

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

DEFAULT_FOLDER = "backups"
_ONE = 1


def a_mark() -> str:
    """Return what this shop's schedule signs its backups with: it deletes no others."""
    return uuid.uuid4().hex


class BackupPlan(models.Model):
    """When backups are made by themselves, and how many are kept; there is one row."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=_ONE, editable=False)
    mark = models.CharField(max_length=32, default=a_mark, editable=False)
    on = models.BooleanField(_("make a backup every day"), default=False)
    at = models.TimeField(_("time of day"), default=dt.time(18, 30))
    keep_daily = models.PositiveSmallIntegerField(
        _("days kept"), default=7, validators=[MinValueValidator(1), MaxValueValidator(366)]
    )
    keep_weekly = models.PositiveSmallIntegerField(
        _("weeks kept"), default=5, validators=[MaxValueValidator(520)]
    )
    keep_monthly = models.PositiveSmallIntegerField(
        _("months kept"), default=12, validators=[MaxValueValidator(1200)]
    )
    folder = models.CharField(_("folder"), max_length=400, blank=True)
    #: The last moment for which a backup was asked of the jobs.
    asked_at = models.DateTimeField(null=True, blank=True, editable=False)
    fault = models.CharField(max_length=500, blank=True, editable=False)

    class Meta:
        """There is one plan."""

        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(id=_ONE), name="there_is_one_backup_plan")
        ]

    def __str__(self) -> str:
        return f"{self.at:%H:%M}"

    @property
    def place(self) -> Path:
        """The folder that backups go into."""
        return Path(self.folder) if self.folder else Path(settings.DATA_FOLDER) / DEFAULT_FOLDER


class Check(models.Model):
    """What the last look at a backup found; `fault` is empty where it is sound."""

    not_backed_up = True

    name = models.CharField(max_length=80, unique=True)
    size = models.PositiveBigIntegerField()
    checked_at = models.DateTimeField()
    fault = models.CharField(max_length=500, blank=True)

    class Meta:
        """How checks are listed."""

        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name
