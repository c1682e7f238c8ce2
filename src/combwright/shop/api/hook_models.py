"""Programs that hear of orders: where they are called, and each call that was or will be made."""

import uuid
from typing import ClassVar, Final
from urllib.parse import urlsplit

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from combwright.shop.orders.states import State

#: What a program may hear of: its name, and the state that an order has come into.
EVENTS: Final = {
    "order.opened": (State.OPEN, _("an order is opened for planning, or is so again")),
    "order.set-aside": (State.ASIDE, _("plates are set aside for it")),
    "order.picking": (State.PICKING, _("its plates are being picked")),
    "order.bench": (State.BENCH, _("it is on the bench")),
    "order.built": (State.BUILT, _("it is built")),
    "order.sent": (State.SENT, _("it is sent")),
    "order.cancelled": (State.CANCELLED, _("it is cancelled")),
}
#: A call that somebody makes by hand, to see whether it arrives.
TEST: Final = "test"
EVENT_OF: Final = {state: name for name, (state, _words) in EVENTS.items()}


class Hook(models.Model):
    """A program's address that is called when something happens to an order.

    Its secret is kept as it is, since every call is signed with it; pages show it once.
    """

    address = models.CharField(_("address"), max_length=300)
    secret = models.CharField(max_length=80)
    events = models.JSONField(_("what it hears of"), default=list)
    #: Whether it may lie inside the shop's own network; only an owner says so.
    inside = models.BooleanField(_("inside our network"), default=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="hooks", verbose_name=_("made by")
    )
    made_at = models.DateTimeField(_("made"), default=timezone.now)
    off_at = models.DateTimeField(_("switched off"), null=True, blank=True)

    class Meta:
        """How hooks are listed, the newest first."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return self.host

    @property
    def host(self) -> str:
        """The host alone: the rest of an address may hold a password of the program's own."""
        return urlsplit(self.address).netloc


class Call(models.Model):
    """One thing that a program is told, once it was told or given up; kept for some weeks."""

    WAITING, DONE, GIVEN_UP = "waiting", "done", "given-up"
    STATES: ClassVar = [
        (WAITING, _("waiting")),
        (DONE, _("done")),
        (GIVEN_UP, _("given up")),
    ]

    hook = models.ForeignKey(Hook, models.CASCADE, related_name="calls")
    #: What the receiver knows it by, so that it can drop one that arrives twice.
    name = models.UUIDField(default=uuid.uuid4, unique=True)
    event = models.CharField(_("what happened"), max_length=30)
    body = models.TextField()
    made_at = models.DateTimeField(_("happened"), default=timezone.now)
    state = models.CharField(_("state"), max_length=8, choices=STATES, default=WAITING)
    tries = models.PositiveSmallIntegerField(_("tries"), default=0)
    not_before = models.DateTimeField(default=timezone.now)
    #: The status of the last answer; none where nobody answered.
    answered = models.PositiveSmallIntegerField(_("answer"), null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    error = models.CharField(_("last error"), max_length=300, blank=True)

    class Meta:
        """How calls are found, and listed, the newest first."""

        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [
            models.Index(fields=["state", "not_before", "id"], name="call_waiting"),
            models.Index(fields=["ended_at"], name="call_ended"),
        ]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=["waiting", "done", "given-up"]),
                name="call_state_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.event} {self.name}"


class Received(models.Model):
    """What another program sent as an order, so that the same order sent again is told from it."""

    order = models.OneToOneField("orders.Order", models.CASCADE, related_name="+")
    digest = models.CharField(max_length=64)

    def __str__(self) -> str:
        return str(self.order)
