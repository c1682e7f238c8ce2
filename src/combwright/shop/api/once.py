"""Every write is done once, however often it is asked under the same key.

After the draft standard of the header Idempotency-Key [idempotency-key]. What the shop came to,
done or refused, is kept in the same transaction as the write itself, so there is never one without
the other. A request that never came as far (no token, not allowed, wrong in itself, not there, or
a bug) leaves no trace, and its key is free.
"""

import hashlib
import json
from collections.abc import Callable
from datetime import timedelta
from typing import Final

from django.db import IntegrityError, connection, transaction
from django.http import HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _
from pydantic import BaseModel

from combwright.shop.api import problems
from combwright.shop.api.gate import Called
from combwright.shop.api.models import Answered, Token
from combwright.shop.api.problems import Problem, document, note, written
from combwright.shop.rack.actions import NotSo

REPLAYED: Final = "Idempotency-Replayed"
KEPT_FOR: Final = timedelta(days=30)
#: So many are thrown away at a time, that no write waits for a long clearing.
_AT_ONCE: Final = 100


def done_once(request: Called, key: str, act: Callable[[], BaseModel], status: int) -> HttpResponse:
    """Do something, or repeat what was answered when it was asked before.

    Of two that ask at once, one does it and the other waits and repeats: SQLite lets only one
    write, and PostgreSQL lets a second row of the same key wait until the first is settled.

    Parameters
    ----------
    request : Called
        Who asks, and what.
    key : str
        The header's value; as the draft has it between quotation marks, or without them.
    act : callable
        Does it and says what came of it.
    status : int
        The answer's when it is done.

    Raises
    ------
    Problem
        If the key came with another request before.
    """
    digest = digest_of(request)
    with transaction.atomic():
        kept, is_new = _claimed(request.auth, tidy_key(key), digest)
        if not is_new:
            return _again(kept, digest)
        try:
            with transaction.atomic():
                kept.body, kept.status = act().model_dump_json(), status
        except NotSo as refusal:
            told = document(Problem(problems.REFUSED, str(refusal)))
            note(request, problems.REFUSED, told["instance"])
            kept.body, kept.status = json.dumps(told), problems.REFUSED.status
        kept.save(update_fields=["body", "status"])
    return written(kept.body, kept.status)


def tidy_key(key: str) -> str:
    """Return a key without the quotation marks of a structured header."""
    quoted = len(key) > 2 and key.startswith('"') and key.endswith('"')
    return key[1:-1].replace('\\"', '"').replace("\\\\", "\\") if quoted else key


def digest_of(request: Called) -> str:
    """Return what a request is known by: method, address and contents, however they are spaced."""
    whole = "\n".join((request.method or "", request.get_full_path(), _contents(request.body)))
    return hashlib.sha256(whole.encode()).hexdigest()


def _contents(body: bytes) -> str:
    try:
        return json.dumps(json.loads(body), sort_keys=True)
    except ValueError:
        # Sent to an operation that takes no body and looks at none.
        return body.hex()


def _claimed(token: Token, key: str, digest: str) -> tuple[Answered, bool]:
    _throw_old_away()
    try:
        with transaction.atomic():
            return Answered.objects.create(token=token, key=key, digest=digest), True
    except IntegrityError:
        return Answered.objects.get(token=token, key=key), False


def _throw_old_away() -> None:
    old = Answered.objects.filter(made_at__lt=timezone.now() - KEPT_FOR).order_by("pk")
    # Rows that another write throws away at this moment are left to it: nobody waits for that.
    skips = connection.features.has_select_for_update_skip_locked
    locked = old.select_for_update(skip_locked=skips).values_list("pk", flat=True)
    if keys := list(locked[:_AT_ONCE]):
        Answered.objects.filter(pk__in=keys).delete()


def _again(kept: Answered, digest: str) -> HttpResponse:
    if kept.digest != digest:
        text = _("The Idempotency-Key %(key)s came with another request before; take a new one.")
        raise Problem(problems.KEY_REUSED, text % {"key": json.dumps(kept.key)})
    return written(kept.body, kept.status, {REPLAYED: "true"})
