"""Finished instruments, each plate they hold, and what has happened to them."""

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from combwright.notes.names import note_name
from combwright.shop.register.heard import Condition, Heard, Recording, Take

__all__ = ["Condition", "Fitted", "Heard", "Instrument", "Recording", "Take"]


class Instrument(models.Model):
    """One instrument with its serial number."""

    serial = models.CharField(_("serial number"), max_length=20, unique=True)
    order = models.ForeignKey("orders.Order", models.PROTECT, related_name="instruments")
    wish = models.ForeignKey("orders.Wish", models.PROTECT, related_name="instruments")
    copy = models.PositiveIntegerField()
    title = models.CharField(max_length=300)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    finished_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    taken_apart_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        """How instruments are listed and guarded."""

        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["wish", "copy"],
                condition=models.Q(taken_apart_at=None),
                name="a_copy_is_built_once",
            ),
        ]

    def __str__(self) -> str:
        return self.serial


class Fitted(models.Model):
    """A plate in a seat of an instrument, from when to when."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="fitted")
    taken = models.ForeignKey("plans.Taken", models.PROTECT, related_name="fitted")
    hole = models.PositiveSmallIntegerField()
    deck = models.CharField(max_length=5)
    breath = models.CharField(max_length=4)
    midi = models.PositiveSmallIntegerField()
    wanted_mc = models.IntegerField()
    batch = models.ForeignKey("rack.Batch", models.PROTECT, related_name="fitted")
    put_in_at = models.DateTimeField(auto_now_add=True)
    put_in_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    taken_out_at = models.DateTimeField(null=True, blank=True)
    taken_out_because = models.CharField(max_length=200, blank=True)

    class Meta:
        """How fitted plates are listed and guarded."""

        ordering: ClassVar = ["instrument_id", "hole", "deck"]
        verbose_name_plural = "fitted"
        indexes: ClassVar = [models.Index(fields=["batch", "instrument"])]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["instrument", "hole", "deck"],
                condition=models.Q(taken_out_at=None),
                name="a_seat_holds_one_plate",
            ),
            models.UniqueConstraint(
                fields=["taken"],
                condition=models.Q(taken_out_at=None),
                name="a_plate_sits_in_one_seat",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument} {self.hole} {self.deck}"

    @property
    def note(self) -> str:
        """The note's name."""
        return note_name(self.midi)
