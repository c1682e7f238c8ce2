"""Starting the shop: its database brought up to date, then served."""

import os
from collections.abc import Callable, Mapping
from contextlib import nullcontext, suppress
from types import MappingProxyType
from typing import Any, Final

import django
import uvicorn
from django.core.management import call_command

from combwright.shop.https.folder import Papers
from combwright.shop.https.renewing import kept_good

_HOW: Final[Mapping[str, Any]] = MappingProxyType(
    {
        # A tablet that lies on the bench comes back to a connection that is still open.
        "timeout_keep_alive": 30,
        "timeout_graceful_shutdown": 10,
        "limit_concurrency": 500,
        "server_header": False,
        "lifespan": "off",
        "log_level": "warning",
    }
)
#: For TLS 1.2; the library's own choice holds ciphers that nobody should use any more.
_CIPHERS: Final = "ECDHE+AESGCM:ECDHE+CHACHA20"
_NOT_STARTED: Final = 3


def serve_shop(host: str, port: int, papers: Callable[[], Papers] | None = None) -> None:
    """Bring the database up to date and serve the shop until it is stopped.

    Parameters
    ----------
    host, port : str, int
        Where to listen.
    papers : callable, optional
        Gives the certificate to serve with; asked again and again while the shop is open. Without
        it the shop speaks plain HTTP.
    """
    os.environ["COMBWRIGHT_SERVED_ON"] = host  # the practice shop is opened there too
    if papers is None:  # else cookies would wait for an HTTPS that is not there
        os.environ.pop("COMBWRIGHT_AUTHORITY", None)
    django.setup()
    call_command("migrate", verbosity=0, interactive=False)
    from combwright.shop.asgi import application
    from combwright.shop.jobs.embedded import working_inside

    config = uvicorn.Config(application, host=host, port=port, **_HOW, **_with(papers))
    config.load()
    looked_after = kept_good(config.ssl, papers) if config.ssl and papers else nullcontext()
    server = uvicorn.Server(config)
    with working_inside(), looked_after, suppress(KeyboardInterrupt):
        server.run()
    if not server.started:
        raise SystemExit(_NOT_STARTED)


def _with(papers: Callable[[], Papers] | None) -> dict[str, Any]:
    if papers is None:
        return {}
    served = papers().served
    return {
        "ssl_certfile": served,
        "ssl_keyfile": served,
        "ssl_ciphers": _CIPHERS,
        "proxy_headers": False,  # no server stands before this one that could tell who asks
    }
