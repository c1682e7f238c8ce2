"""What was heard of an instrument: takes with their sound, and single readings of its reeds.

Pitches and offsets are thousandths of a cent, as those of plates are.
"""

from typing import ClassVar, Final
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.notes.names import note_name
from combwright.sheets.figures import signed

#: Of a normal distribution 95 % lies within so many standard deviations.
_WIDE: Final = 1.96


class Condition(models.TextChoices):
    """How a reed was mounted when it was heard; a cover lowers it a little."""

    BARE = "bare", _("bare plate on a jig")
    OPEN = "open", _("in its seat, covers off")
    COVERED = "covered", _("in its seat, covers on")


class Take(models.Model):
    """A recording of a whole instrument, played seat by seat.

    `key` is made where it was recorded, so that one sent twice is one. What hearing it found is
    kept with it; its readings are rows of their own.
    """

    WAITING, HEARD, UNHEARD = "waiting", "heard", "unheard"
    STATES: ClassVar = [
        (WAITING, _("being heard")),
        (HEARD, _("heard")),
        (UNHEARD, _("could not be heard")),
    ]

    key = models.UUIDField(unique=True, default=uuid4)
    instrument = models.ForeignKey("register.Instrument", models.PROTECT, related_name="takes")
    condition = models.CharField(
        _("how it was mounted"), max_length=7, choices=Condition.choices, default=Condition.OPEN
    )
    temperature = models.DecimalField(
        _("temperature in °C"), max_digits=4, decimal_places=1, null=True, blank=True
    )
    microphone = models.ForeignKey(
        "tuning.Microphone", models.PROTECT, null=True, blank=True, related_name="takes"
    )
    #: The order of playing, as `1 blow, 1 draw, ...`; empty is hole by hole, blow first.
    played = models.TextField(_("order of playing"), blank=True)
    title = models.CharField(max_length=200, blank=True)
    seconds = models.FloatField(default=0)
    state = models.CharField(max_length=7, choices=STATES, default=WAITING)
    fault = models.CharField(max_length=500, blank=True)
    #: Lists of words and of seats: what was odd, what is missing, what was left out and why.
    warnings = models.JSONField(default=list)
    remarks = models.JSONField(default=list)
    missing = models.JSONField(default=list)
    ignored = models.JSONField(default=list)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="takes")
    at = models.DateTimeField(auto_now_add=True)
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        """How takes are listed."""

        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [models.Index(fields=["instrument", "-id"])]

    def __str__(self) -> str:
        return f"{self.instrument} {self.pk}"


class Recording(models.Model):
    """The sound of a take, one side, packed without loss (FLAC)."""

    take = models.OneToOneField(Take, models.CASCADE, related_name="recording")
    data = models.BinaryField()
    rate = models.PositiveIntegerField()

    def __str__(self) -> str:
        return str(self.take)


class Heard(models.Model):
    """One reading of one reed, from a take or alone. Struck out, it no longer counts.

    `wanted_mc` is the pitch it should have, `off_mc` how far above that it was, `sd_mc` the
    standard error of that and `spread_mc` how far single moments strayed.
    """

    key = models.UUIDField(unique=True, default=uuid4)
    instrument = models.ForeignKey("register.Instrument", models.PROTECT, related_name="heard")
    taken = models.ForeignKey(
        "plans.Taken", models.PROTECT, null=True, blank=True, related_name="heard"
    )
    take = models.ForeignKey(Take, models.CASCADE, null=True, blank=True, related_name="readings")
    #: `3 upper blow`, or `kit 1` for a kit's plate.
    place = models.CharField(max_length=30)
    midi = models.PositiveSmallIntegerField()
    wanted_mc = models.IntegerField()
    off_mc = models.IntegerField()
    sd_mc = models.PositiveIntegerField()
    spread_mc = models.PositiveIntegerField(default=0)
    level_db = models.FloatField(null=True, blank=True)
    snr_db = models.FloatField(null=True, blank=True)
    unsure = models.BooleanField(default=False)
    condition = models.CharField(max_length=7, choices=Condition.choices, default=Condition.OPEN)
    temperature = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    microphone = models.ForeignKey(
        "tuning.Microphone", models.PROTECT, null=True, blank=True, related_name="heard"
    )
    start_s = models.FloatField(null=True, blank=True)
    end_s = models.FloatField(null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="heard")
    at = models.DateTimeField(auto_now_add=True)
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        """How readings are listed."""

        ordering: ClassVar = ["-id"]
        verbose_name_plural = "heard"
        indexes: ClassVar = [
            models.Index(fields=["instrument", "place", "-id"]),
            models.Index(fields=["taken", "id"]),
        ]

    def __str__(self) -> str:
        return f"{self.instrument} {self.place} {self.cents:+.1f}"

    @property
    def cents(self) -> float:
        """How far above its target the reed was, in cents."""
        return self.off_mc / 1000

    @property
    def off(self) -> str:
        """The same with its sign, for people."""
        return signed(self.cents, 2)

    @property
    def wide(self) -> float:
        """Half of the width in which the reed lies with 95 % certainty, in cents."""
        return _WIDE * self.sd_cents

    @property
    def sd_cents(self) -> float:
        """The standard error, in cents."""
        return self.sd_mc / 1000

    @property
    def note(self) -> str:
        """The wanted note's name."""
        return note_name(self.midi)
