"""A shop that stays open for longer than its certificate lasts gets the next one while it runs."""

import logging
import ssl
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Thread
from typing import Final

from combwright.errors import CombwrightError
from combwright.shop.https.folder import Papers

_EVERY_SECONDS: Final = 12 * 3600.0
_LOG: Final = logging.getLogger("combwright.https")


def renew(context: ssl.SSLContext, papers: Callable[[], Papers]) -> None:
    """Have new connections get the certificate that is good now; those that are open stay.

    A fault is written to the log: the certificate that is there serves on.
    """
    try:
        found = papers()
        context.load_cert_chain(found.served)
    except (CombwrightError, OSError) as error:
        _LOG.warning("the certificate was not looked after: %s", error)


@contextmanager
def kept_good(
    context: ssl.SSLContext, papers: Callable[[], Papers], every_seconds: float = _EVERY_SECONDS
) -> Iterator[None]:
    """Look after the certificate of a server while it runs."""
    over = Event()

    def look_after() -> None:
        while not over.wait(every_seconds):
            renew(context, papers)

    keeper = Thread(target=look_after, name="certificate-keeper", daemon=True)
    keeper.start()
    try:
        yield
    finally:
        over.set()
        keeper.join()
