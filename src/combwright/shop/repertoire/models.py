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


class TuneRow(models.Model):
    """A tune as a table keeps it; `music` is what `tunes.keeping` makes of it.

    `mark` is the same for tunes whose notes are the same, whatever they are called.
    """

    place = models.PositiveIntegerField()
    title = models.CharField(_("title"), max_length=200, db_index=True)
    source = models.CharField(_("from"), max_length=200, blank=True)
    notes = models.PositiveIntegerField(_("notes"))
    lowest = models.PositiveSmallIntegerField(default=0)
    highest = models.PositiveSmallIntegerField(default=0)
    remarks = models.JSONField(default=list, blank=True)
    mark = models.CharField(max_length=32, blank=True)
    music = models.JSONField()

    class Meta:
        """No table of its own."""

        abstract = True

    def __str__(self) -> str:
        return self.title


class Melody(TuneRow):
    """One tune of a repertoire."""

    repertoire = models.ForeignKey(Repertoire, models.CASCADE, related_name="melodies")

    class Meta:
        """How tunes are listed and guarded."""

        ordering: ClassVar = ["repertoire_id", "place"]
        verbose_name_plural = "melodies"
        indexes: ClassVar = [models.Index(fields=["repertoire", "mark"], name="melody_by_mark")]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["repertoire", "place"], name="a_place_holds_one_tune"),
        ]


class Intake(models.Model):
    """Files of tunes that somebody looks at before taking the tunes in; taken in, they are gone.

    Until `read_at` is set a job reads them; `faults` has a line for what could not be read.
    """

    not_backed_up: ClassVar = True

    repertoire = models.ForeignKey(Repertoire, models.CASCADE, related_name="intakes")
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    job = models.ForeignKey("jobs.Job", models.SET_NULL, null=True, related_name="+")
    read_at = models.DateTimeField(null=True)
    faults = models.JSONField(default=list)

    class Meta:
        """How intakes are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.repertoire} {self.pk}"


class TunesFile(models.Model):
    """A file of an intake, as it was sent."""

    not_backed_up: ClassVar = True

    intake = models.ForeignKey(Intake, models.CASCADE, related_name="files")
    name = models.CharField(max_length=120)
    data = models.BinaryField()

    class Meta:
        """How files are listed."""

        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return self.name


class FoundTune(TuneRow):
    """A tune that was read from the files of an intake, and whether it is to be taken in."""

    not_backed_up: ClassVar = True
    KEPT, TWICE = "kept", "twice"

    intake = models.ForeignKey(Intake, models.CASCADE, related_name="found")
    wanted = models.BooleanField(default=True)
    #: Where its notes stand already: in the repertoire, or further up in the files.
    again = models.CharField(max_length=5, blank=True)

    class Meta:
        """How found tunes are listed."""

        ordering: ClassVar = ["intake_id", "place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["intake", "place"], name="a_tune_is_found_once"),
        ]


class TabBook(models.Model):
    """All tunes of a repertoire as tab for one instrument; a job makes its PDF, which is kept.

    `asked` is the instrument and how the tunes are moved; `version` the repertoire's then.
    """

    not_backed_up: ClassVar = True

    repertoire = models.ForeignKey(Repertoire, models.CASCADE, related_name="books")
    version = models.PositiveIntegerField()
    asked = models.JSONField()
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    job = models.ForeignKey("jobs.Job", models.SET_NULL, null=True, related_name="+")
    pdf = models.BinaryField(null=True)

    class Meta:
        """How books are listed."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.repertoire} {self.pk}"
