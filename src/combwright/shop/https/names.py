"""The names and addresses that the shop is reached by on the workshop's network."""

import re
import socket
from collections.abc import Iterable, Sequence
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network
from typing import Final, TypeAlias

import ifaddr

from combwright.shop.https.faults import BadName

Address: TypeAlias = IPv4Address | IPv6Address
Network: TypeAlias = IPv4Network | IPv6Network
#: What a certificate is made out to: a host's name, in small letters, or an address.
Name: TypeAlias = str | Address

LOOPBACK: Final[Sequence[Network]] = (ip_network("127.0.0.0/8"), ip_network("::1/128"))
#: Networks that are nobody's on the Internet: RFC 1918 and RFC 4193.
PRIVATE: Final[Sequence[Network]] = tuple(
    ip_network(each) for each in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7")
)
_THIS_MACHINE: Final[Sequence[Name]] = (
    "localhost",
    ip_address("127.0.0.1"),
    ip_address("::1"),
)
_LABEL: Final = r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
#: A last part of digits alone would be a mistyped address.
_HOST: Final = re.compile(rf"(?:{_LABEL}\.)*(?![0-9]+\Z){_LABEL}\Z")
_MOST_LETTERS: Final = 253


def read_name(text: str) -> Name:
    """Return the host's name or address that a text gives.

    Raises
    ------
    BadName
        If it is neither.
    """
    tidy = text.strip().rstrip(".").lower()
    try:
        address = ip_address(tidy.removeprefix("[").removesuffix("]"))
    except ValueError:
        tidy = _in_ascii(tidy)
        if len(tidy) > _MOST_LETTERS or not _HOST.match(tidy):
            raise BadName(
                f"A name must be a host's name or address alone, such as workshop.example or "
                f"192.168.1.20; it is {text[:80]!r}."
            ) from None
        return tidy
    if address.is_unspecified or address.is_multicast or getattr(address, "scope_id", None):
        raise BadName(
            f"No certificate can be made out to {text[:80]!r}; name an address of one machine, "
            "such as 192.168.1.20."
        )
    return address


def _in_ascii(text: str) -> str:
    try:
        return text if text.isascii() else text.encode("idna").decode()
    except UnicodeError:
        return ""


def names_of_this_machine() -> list[Name]:
    """Return the machine's name, short and as the network spells it, and that under `.local`."""
    try:
        whole = read_name(socket.gethostname())
    except BadName:
        return []
    if not isinstance(whole, str) or whole.startswith("localhost"):
        return []
    short = whole.partition(".")[0]
    return unique((f"{short}.local", short, whole))


def addresses_listened_on(host: str) -> list[Name]:
    """Return where a shop that listens on a host answers, except under the machine's names.

    Parameters
    ----------
    host : str
        As given to `--host`: 0.0.0.0 and :: are all addresses of the machine, of which those of
        private networks are meant.
    """
    if host not in ("0.0.0.0", "::"):
        return unique((read_name(host), *_THIS_MACHINE))
    found = {ip_address(each) for each in _of_all_cards()}
    ours = sorted(
        (each for each in found if is_in(each, PRIVATE) and (each.version == 4 or host == "::")),
        key=lambda each: (each.version, int(each)),
    )
    return unique((*ours, *_THIS_MACHINE))


def _of_all_cards() -> Iterable[str]:
    for card in ifaddr.get_adapters():
        for each in card.ips:
            yield each.ip if isinstance(each.ip, str) else each.ip[0]


def is_in(address: Address, networks: Iterable[Network]) -> bool:
    """Say whether an address is of one of some networks."""
    return any(address.version == each.version and address in each for each in networks)


def unique(names: Iterable[Name]) -> list[Name]:
    """Return names without those that came before, in their order."""
    return list(dict.fromkeys(names))


def as_host(name: Name) -> str:
    """Return a name as it stands in an address of a page."""
    return f"[{name}]" if isinstance(name, IPv6Address) else str(name)
