"""Repertoires and their tunes, as they were read from files; and files that are looked at first."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Repertoire(models.Model):
    """Tunes that belong together: what one customer plays, or one evening."""

    name = models.CharField(_("name"), max_length=120, unique=True)
    customer = models.ForeignKey(
        "orders.Customer", models.SET_NULL, null=True, blank=True, related_name="repertoires",
        verbose_name=_("customer"),
    )  # fmt: skip
    about = models.TextField(_("note"), max_length=1000, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    #: Raised whenever its tunes change, so that an answer knows whether it is of these tunes.
    version = models.PositiveIntegerField(default=1)

    class Meta:
        """How repertoires are listed."""

        ordering: ClassVar = ["name", "id"]

    def __str__(self) -> str:
        return self.name


class Melody(models.Model):
    """One tune of a repertoire; `music` is what `tunes.keeping` makes of it."""

    repertoire = models.ForeignKey(Repertoire, models.CASCADE, related_name="melodies")
    place = models.PositiveIntegerField()
    title = models.CharField(_("title"), max_length=200, db_index=True)
    source = models.CharField(_("from"), max_length=200, blank=True)
    notes = models.PositiveIntegerField(_("notes"))
    remarks = models.JSONField(default=list, blank=True)
    music = models.JSONField()

    class Meta:
        """How tunes are listed and guarded."""

        ordering: ClassVar = ["repertoire_id", "place"]
        verbose_name_plural = "melodies"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["repertoire", "place"], name="a_place_holds_one_tune"),
        ]

    def __str__(self) -> str:
        return self.title


class TunesFile(models.Model):
    """A file of tunes that somebody looks at before taking it in; taken in, it is gone."""

    not_backed_up: ClassVar = True

    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    name = models.CharField(max_length=120)
    data = models.BinaryField()

    class Meta:
        """How files are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return self.name
