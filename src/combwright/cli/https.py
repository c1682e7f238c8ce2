"""`combwright serve --https`: certificates made ready, and what to do with them, told."""

import os
from collections.abc import Callable, Sequence
from functools import partial
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING, Final

import typer

from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from combwright.shop.https.folder import Papers
    from combwright.shop.https.names import Name

_OWN: Final = "COMBWRIGHT_AUTHORITY"
_HOSTS: Final = "COMBWRIGHT_HOSTS"
_TRUST: Final = "people/trust/"


class TwoKindsOfHttps(CombwrightError):
    """HTTPS asked for twice: from a server before the shop, and from the shop itself."""


def made_ready(host: str, port: int, asked: Sequence[str]) -> "Callable[[], Papers]":
    """Make the certificates ready, tell how devices come to trust them; return what makes the next.

    Parameters
    ----------
    host, port : str, int
        Where the shop listens.
    asked : sequence of str
        Further names that it is reached by.

    Raises
    ------
    CombwrightError
        If HTTPS cannot be served so.
    """
    from combwright.shop.https.folder import prepare
    from combwright.shop.https.names import as_host, read_name

    if os.environ.get("COMBWRIGHT_HTTPS") == "1":
        raise TwoKindsOfHttps(
            "COMBWRIGHT_HTTPS=1 says that a server before the shop speaks HTTPS; "
            "leave out --https, or take COMBWRIGHT_HTTPS away."
        )
    names = [read_name(each) for each in asked]
    own = _own_names(host)
    label = next((each for each in own if str(each).endswith(".local")), "workshop")
    papers = partial(prepare, _folder(), asked=names, own=own, label=str(label))
    found = papers()
    os.environ[_OWN] = str(found.authority.parent)
    hosts = os.environ.get(_HOSTS, "").split()
    os.environ[_HOSTS] = " ".join(
        dict.fromkeys([*hosts, *map(as_host, (*found.names, *found.left_out))])
    )
    _tell(found, _reached_at(found, host), port)
    return papers


def _folder() -> Path:
    from combwright.shop.where import data_folder

    named = os.environ.get(_OWN)  # the practice shop's is that of the real one
    return Path(named) if named else data_folder().absolute() / "https"


def _own_names(host: str) -> "list[Name]":
    from combwright.shop.https.faults import BadName
    from combwright.shop.https.names import (
        addresses_listened_on,
        names_of_this_machine,
        read_name,
        unique,
    )

    known: list[Name] = []
    for each in os.environ.get(_HOSTS, "").split():
        try:
            known.append(read_name(each))
        except BadName:  # a pattern, as `.workshop.example`
            continue
    return unique((*names_of_this_machine(), *addresses_listened_on(host), *known))


def _reached_at(papers: "Papers", host: str) -> list[str]:
    """Return the hosts to open the shop at from where it can be reached, best first."""
    from combwright.shop.https.names import LOOPBACK, as_host, is_in, read_name

    everywhere = host in ("0.0.0.0", "::")
    at = None if everywhere else read_name(host)
    if at == "localhost" or (at is not None and not isinstance(at, str) and is_in(at, LOOPBACK)):
        return ["localhost"]
    loopback = {str(ip_address("127.0.0.1")), str(ip_address("::1"))}
    shown = [each for each in papers.names if str(each) not in loopback]
    if not everywhere:
        shown = [each for each in shown if each != "localhost"]
    return [as_host(each) for each in sorted(shown, key=lambda each: each == "localhost")]


def _tell(papers: "Papers", hosts: Sequence[str], port: int) -> None:
    from combwright.shop.https.authority import fingerprint
    from combwright.shop.https.trusting import OWN_LIST, WAYS

    places = [f"https://{each}:{port}/" for each in hosts]
    typer.echo("The shop is open (Ctrl-C closes it) at")
    for each in places:
        typer.echo(f"  {each}")
    typer.echo("A device has to trust the workshop's own authority once:")
    typer.echo(f"  file     {papers.authority}")
    typer.echo(f"  SHA-256  {fingerprint(papers.certificate)}")
    typer.echo(
        f"On the device open {places[0]}{_TRUST} and go on past the browser's warning, only to "
        "download the file; or carry the file there. Then"
    )
    for way in WAYS:
        typer.echo(f"  {way.system}: {way.steps}")
    typer.echo(f"  {OWN_LIST}")
    typer.echo(
        "Compare the SHA-256 that the device shows with the one above. Log in when no warning is "
        "left. The page above says all this too."
    )
    typer.echo(f"The certificate is good until {papers.until:%Y-%m-%d}; the next one makes itself.")
    if papers.left_out:
        typer.echo(
            f"The authority was not made for {', '.join(map(str, papers.left_out))}: left out. "
            f"Delete the folder {str(papers.authority.parent)!r} to have another one made, which "
            "every device must trust anew.",
            err=True,
        )
