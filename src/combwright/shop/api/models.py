"""Tokens that let programs in, what was answered to them, and tokens that opened nothing."""

import hashlib
from typing import ClassVar, Final

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from combwright.shop.api.hook_models import Call, Hook, Received
from combwright.shop.people.roles import May, allowed

__all__ = ["Answered", "Call", "Hook", "Received", "Token", "WrongToken"]

#: What every token begins with, so that one that was left lying about is known for what it is.
BEGINS: Final = "cw_"
#: So much of a token is kept to recognise it by: far too little to guess the rest from.
SHOWN: Final = 9


class Token(models.Model):
    """A program's way in, on behalf of one person; only the token's digest is kept."""

    name = models.CharField(_("program"), max_length=60)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="tokens", verbose_name=_("person")
    )
    digest = models.CharField(max_length=64, unique=True)
    prefix = models.CharField(_("begins with"), max_length=SHOWN)
    scopes = models.JSONField(_("what it may do"), default=list)
    made_at = models.DateTimeField(_("made"), default=timezone.now)
    expires_at = models.DateTimeField(_("good until"))
    revoked_at = models.DateTimeField(_("revoked"), null=True, blank=True)
    last_used_at = models.DateTimeField(_("last used"), null=True, blank=True)

    class Meta:
        """How tokens are listed, the newest first."""

        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.name} {self.prefix}"

    @property
    def is_over(self) -> bool:
        """Whether its time has ended."""
        return self.expires_at <= timezone.now()

    @property
    def is_open(self) -> bool:
        """Whether it lets a program in; `person` should be loaded."""
        return self.revoked_at is None and not self.is_over and self.person.is_active

    def may(self, what: May) -> bool:
        """Say whether it may do something: its person may, and it was made for it."""
        return scope_of(what) in self.scopes and allowed(self.person.role, what)

    @staticmethod
    def digest_of(token: str) -> str:
        """Return what a token is found by; it is random and long, so a plain digest is enough."""
        return hashlib.sha256(token.encode()).hexdigest()


def scope_of(what: May) -> str:
    """Return what a right is called among a token's scopes."""
    return what.name.lower()


class Answered(models.Model):
    """What a write was answered with, kept so that the same request again does nothing again."""

    not_backed_up: ClassVar = True

    token = models.ForeignKey(Token, models.CASCADE, related_name="answers")
    key = models.CharField(max_length=200)
    #: Of the request: the same key with another one is a mistake, and is told so.
    digest = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(default=0)
    body = models.TextField(blank=True)
    made_at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        """How answers are found, one for a key."""

        constraints: ClassVar = [
            models.UniqueConstraint(fields=["token", "key"], name="one_answer_for_a_key")
        ]

    def __str__(self) -> str:
        return f"{self.token_id} {self.key}"


class WrongToken(models.Model):
    """A try with a token that opens nothing, counted to slow down whoever guesses."""

    not_backed_up: ClassVar = True

    address = models.CharField(max_length=64)
    at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        """How tries are found."""

        indexes: ClassVar = [models.Index(fields=["address", "at"])]

    def __str__(self) -> str:
        return f"{self.address} {self.at}"
