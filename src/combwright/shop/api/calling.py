"""Making one call: signed, to a machine that was looked at before, and cut off if it takes long.

The signature is HMAC [rfc2104] with SHA-256 over the time, a line break and the body, in headers of
our own. What is answered is not read: its status says whether the call arrived.
"""

import hashlib
import hmac
import http.client
import socket
import ssl
from collections.abc import Mapping
from threading import Timer
from typing import Final

from django.utils.translation import gettext as _

from combwright.shop.api.guarding import BadAddress, Target, looked_up, read_address
from combwright.shop.api.hook_models import Call

TIME, SIGNATURE, NAME = "Combwright-Time", "Combwright-Hmac-Sha256", "Combwright-Call"
#: For each wait of a call, and for the whole of it.
SECONDS: Final = 10.0
SECONDS_IN_ALL: Final = 20.0
_MOST_BYTES: Final = 64 * 1024


class NotHeard(BadAddress):
    """A call that nobody took; `status` is what was answered, if anything was."""

    def __init__(self, text: str, status: int | None = None) -> None:
        super().__init__(text)
        self.status = status


def signature(secret: str, time: str, body: bytes) -> str:
    """Return what proves that a call is ours: HMAC-SHA256 of the time, a line break, the body."""
    return hmac.new(secret.encode(), time.encode() + b"\n" + body, hashlib.sha256).hexdigest()


def call(call_: Call, now: int) -> int:
    """Make a call, and return the status of the answer: one that says that it was taken.

    Parameters
    ----------
    call_ : Call
        What to tell; its hook must be loaded.
    now : int
        Seconds since 1970, which are signed.

    Raises
    ------
    BadAddress
        If it may not be called, is not there, or does not take the call.
    """
    body = call_.body.encode()
    if len(body) > _MOST_BYTES:
        raise NotHeard(_("The call is too long to be sent."))
    target = read_address(call_.hook.address)
    addresses = looked_up(target, inside=call_.hook.inside)
    headers = {
        "Content-Type": "application/json",
        "User-Agent": "Combwright",
        TIME: str(now),
        NAME: str(call_.name),
        SIGNATURE: signature(call_.hook.secret, str(now), body),
    }
    status = _status(target, str(addresses[0]), body, headers)
    if not 200 <= status < 300:
        raise NotHeard(_answered(status), status)
    return status


def _answered(status: int) -> str:
    if 300 <= status < 400:
        return _("It answered %d, elsewhere; give the address that it leads to.") % status
    return _("It answered %d, not 200 to 299.") % status


def _status(target: Target, address: str, body: bytes, headers: Mapping[str, str]) -> int:
    line = _Line(target, address)
    try:
        with _CutOff(line):
            line.request("POST", target.path, body, dict(headers))
            with line.getresponse() as answer:
                return answer.status
    except ssl.SSLError as error:
        raise NotHeard(_("The connection is not safe: %s.") % _reason(error)) from error
    except TimeoutError as error:
        raise NotHeard(_("It did not answer within %d seconds.") % SECONDS) from error
    except (OSError, http.client.HTTPException) as error:
        raise NotHeard(_("It could not be reached: %s.") % _reason(error)) from error
    finally:
        line.close()


def _reason(error: Exception) -> str:
    said = getattr(error, "strerror", "") or type(error).__name__
    return " ".join(str(said).split())


class _Line(http.client.HTTPConnection):
    """A connection to an address that was looked at, in the name of the host it stands for."""

    def __init__(self, target: Target, address: str) -> None:
        super().__init__(target.host, target.port, timeout=SECONDS)
        self._tls, self._address = target.tls, address
        self.default_port = 443 if target.tls else 80

    def connect(self) -> None:
        """Connect to the address, and over TLS have the host prove its name."""
        self.sock = socket.create_connection((self._address, self.port), SECONDS)
        if self._tls:
            safe = ssl.create_default_context()
            self.sock = safe.wrap_socket(self.sock, server_hostname=self.host)


class _CutOff:
    """Ends a connection that goes on for too long, however busy it looks."""

    def __init__(self, line: _Line) -> None:
        self._line = line
        self._timer = Timer(SECONDS_IN_ALL, self._cut)
        self._timer.daemon = True

    def __enter__(self) -> None:
        self._timer.start()

    def __exit__(self, *_error: object) -> None:
        self._timer.cancel()

    def _cut(self) -> None:
        try:
            if self._line.sock is not None:
                self._line.sock.shutdown(socket.SHUT_RDWR)
        except OSError:
            pass
