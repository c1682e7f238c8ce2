"""Which addresses a program may be called at: a call must not be a way into the shop's own network.

A name is looked up at the moment of the call, every address it stands for must be allowed, and the
call goes to one of those that were looked at: a name that means something else a moment later does
not help. Sources: [iana-ipv4-special], [iana-ipv6-special] for the ranges that are not public, as
the standard library knows them.
"""

import socket
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from typing import Final
from urllib.parse import SplitResult, urlsplit

from django.utils.translation import gettext as _

from combwright.errors import CombwrightError

LONGEST: Final = 300
_PORTS: Final = {"http": 80, "https": 443}
#: IPv6 addresses that stand for IPv4 ones by way of a translator.
_TRANSLATED: Final = IPv6Network("64:ff9b::/96")
IP = IPv4Address | IPv6Address


class BadAddress(CombwrightError):
    """An address that no program is called at."""


@dataclass(frozen=True, slots=True)
class Target:
    """Where a call goes, taken apart.

    Parameters
    ----------
    tls : bool
        Whether it is called over https.
    host : str
        The name, in ASCII.
    port : int
        The port.
    path : str
        Path and query.
    """

    tls: bool
    host: str
    port: int
    path: str


def read_address(text: str) -> Target:
    """Take an address apart.

    Raises
    ------
    BadAddress
        If it is none of http or https, or holds what has no business in one.
    """
    if len(text) > LONGEST or not text.isascii() or not text.isprintable() or " " in text:
        raise BadAddress(
            _("%(address)s will not do: write an address with at most %(most)d plain characters.")
            % {"address": " ".join(text.split())[:60], "most": LONGEST}
        )
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as error:
        raise _none(text) from error
    if parts.scheme not in _PORTS or not parts.hostname or port == 0:
        raise _none(text)
    if parts.username is not None or parts.password is not None or parts.fragment:
        raise BadAddress(
            _("Leave names, passwords and what follows # out of the address; calls are signed.")
        )
    return Target(parts.scheme == "https", parts.hostname, port or _PORTS[parts.scheme],
                  _path(parts))  # fmt: skip


def _none(text: str) -> BadAddress:
    return BadAddress(
        _("%s is no address; write one that begins with https:// or http://, with a host.") % text
    )


def _path(parts: SplitResult) -> str:
    return (parts.path or "/") + (f"?{parts.query}" if parts.query else "")


def looked_up(target: Target, *, inside: bool) -> list[IP]:
    """Return the IP addresses that a target stands for now.

    Raises
    ------
    BadAddress
        If it stands for none, or for one that is not allowed.
    """
    kind = socket.SOCK_STREAM
    try:
        found = socket.getaddrinfo(target.host, target.port, type=kind, proto=socket.IPPROTO_TCP)
    except (OSError, UnicodeError) as error:
        raise BadAddress(_("There is no host %s.") % target.host) from error
    addresses = [ip_address(str(each[4][0]).partition("%")[0]) for each in found]
    for address in addresses:
        if not may_call(address, inside=inside):
            raise _not_allowed(target.host, inside=inside)
    return addresses


def _not_allowed(host: str, *, inside: bool) -> BadAddress:
    if inside:
        return BadAddress(_("%s is no address of a machine that may be called.") % host)
    return BadAddress(
        _("%s lies inside our own network; an owner has to say that it may be called.") % host
    )


def may_call(address: IP, *, inside: bool) -> bool:
    """Say whether a machine may be called: any public one, and where it was allowed a near one.

    Never one of this link alone, where clouds keep their machines' passwords, nor a group of them.
    """
    address = _meant(address)
    if address.is_multicast or address.is_unspecified or address.is_link_local:
        return False
    if address.is_loopback or address.is_private:
        return inside and not _is_broadcast(address)
    return address.is_global or inside


def _meant(address: IP) -> IP:
    """Return the IPv4 address that one of IPv6 stands for, if it does."""
    if isinstance(address, IPv4Address):
        return address
    if address in _TRANSLATED:
        return IPv4Address(int(address) & 0xFFFFFFFF)
    return address.ipv4_mapped or address.sixtofour or address


def _is_broadcast(address: IP) -> bool:
    return address.is_reserved and not address.is_loopback
