"""Microphones: how far their clock is off, and the level of an ordinary breath at them."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.shop.tuning.take_models import BlindTest, Comparison

__all__ = ["BlindTest", "Comparison", "Microphone"]


class Microphone(models.Model):
    """A microphone with the device that it hangs on, as the workshop calls it.

    A device's clock counts `1 + ppm / 1,000,000` seconds in each; until it has been held against a
    known tone, `ppm` is None. Levels are in decibels of full scale.
    """

    name = models.CharField(_("name"), max_length=60, unique=True)
    low_db = models.FloatField(_("softest breath"), null=True, blank=True)
    high_db = models.FloatField(_("strongest breath"), null=True, blank=True)
    ppm = models.FloatField(null=True, blank=True)
    sd_ppm = models.FloatField(null=True, blank=True)
    tone_hz = models.FloatField(null=True, blank=True)
    calibrated_at = models.DateTimeField(null=True, blank=True)
    calibrated_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        """How microphones are listed and guarded."""

        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(ppm=None, sd_ppm=None)
                | models.Q(sd_ppm__gte=0, ppm__isnull=False),
                name="a_clock_has_an_error",
            ),
            models.CheckConstraint(
                condition=models.Q(low_db=None, high_db=None)
                | models.Q(low_db__lt=models.F("high_db")),
                name="a_band_of_breath_has_two_ends",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Sorted(models.Model):
    """A plate of a bin that was heard on a jig, and the bin that it was laid into by its pitch.

    `off_mc` is how far above the bins' note it sounded, in thousandths of a cent.
    """

    key = models.UUIDField(unique=True)
    source = models.ForeignKey("rack.Bin", models.PROTECT, related_name="+")
    target = models.ForeignKey("rack.Bin", models.PROTECT, related_name="sorted")
    off_mc = models.IntegerField()
    sd_mc = models.PositiveIntegerField()
    jig = models.CharField(max_length=40, blank=True)
    level_db = models.FloatField()
    temperature = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    microphone = models.ForeignKey(
        Microphone, models.PROTECT, null=True, blank=True, related_name="+"
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        """How sorted plates are listed."""

        ordering: ClassVar = ["-id"]
        verbose_name_plural = "sorted"
        indexes: ClassVar = [models.Index(fields=["source", "-id"])]

    def __str__(self) -> str:
        return f"{self.source} {self.cents:+.1f}"

    @property
    def cents(self) -> float:
        """How far above the bins' note it sounded, in cents."""
        return self.off_mc / 1000
