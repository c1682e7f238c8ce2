"""The folder that the authority and the server's certificate lie in; keys are the owner's alone."""

import os
import shutil
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)

from combwright.shop.https.authority import (
    Authority,
    is_over,
    make_authority,
    refuse_foreign,
    refuse_unvouched,
)
from combwright.shop.https.faults import BadAuthority, NoHttps, WrongClock
from combwright.shop.https.names import Name, unique
from combwright.shop.https.server import certify, still_good

_CERTIFICATE, _KEY, _SERVED = "authority.crt", "authority.key", "server.pem"
_OWNER_ONLY: Final = 0o600
#: No shop was opened before the program was begun: a clock that says so has stopped.
_BEGUN: Final = datetime(2024, 1, 1, tzinfo=UTC)
_ANEW: Final = (
    "bring it back as it was, or delete the folder {folder!r} to have another authority made, "
    "which every device must trust anew"
)


@dataclass(frozen=True, slots=True)
class Papers:
    """What the shop is served with.

    Parameters
    ----------
    served : Path
        The server's certificate and its key, one file.
    authority : Path
        The certificate that devices must trust.
    certificate : x509.Certificate
        The same, read.
    names : list of Name
        What the server's certificate is made out to.
    left_out : list of Name
        Names of the machine that the authority is not allowed to vouch for.
    until : datetime
        When the server's certificate runs out.
    """

    served: Path
    authority: Path
    certificate: x509.Certificate
    names: Sequence[Name]
    left_out: Sequence[Name]
    until: datetime


def certificate_in(folder: Path) -> x509.Certificate:
    """Return the authority's certificate.

    Raises
    ------
    BadAuthority
        If there is none, or a file that is none of ours.
    """
    path = folder / _CERTIFICATE
    try:
        certificate = x509.load_pem_x509_certificate(path.read_bytes())
        refuse_foreign(certificate)
    except (OSError, ValueError, BadAuthority) as error:
        why = "it is no certificate" if isinstance(error, ValueError) else _why(error)
        raise _broken(path, why) from error
    return certificate


def prepare(
    folder: Path,
    *,
    asked: Sequence[Name],
    own: Sequence[Name],
    label: str,
    now: datetime | None = None,
) -> Papers:
    """See to it that there is an authority and a server's certificate that is good for now.

    Parameters
    ----------
    folder : Path
        Made where it is not there.
    asked, own : sequence of Name
        Names that somebody asked for, and those that the machine has by itself. One of its own that
        an earlier authority may not vouch for is left out.
    label : str
        What a new authority is called.
    now : datetime, optional
        The time, where it is not that of the clock.

    Raises
    ------
    NoHttps
        If the authority's files are damaged or of somebody else, a name is asked for that it may
        not vouch for, the clock cannot be right, or the folder cannot be written.
    """
    now = (now or datetime.now(UTC)).replace(microsecond=0)
    if now < _BEGUN:
        raise WrongClock(f"This machine's clock says {now:%Y-%m-%d}; set it, then start again.")
    try:
        if not folder.exists():
            _make(folder, unique((*asked, *own)), label, now)
        authority = _authority_in(folder)
        _check_time(authority.certificate, folder, now)
        refuse_unvouched(authority, asked, place=str(folder))
        wanted = unique((*asked, *own))
        names = [each for each in wanted if authority.vouches_for(each)]
        until = _kept_good(folder / _SERVED, authority, names, now)
    except OSError as error:
        raise NoHttps(
            f"The folder {str(folder)!r} for the shop's certificates cannot be used "
            f"({error.strerror}); make it writable, or use another data folder."
        ) from error
    left_out = [each for each in wanted if each not in names]
    paper = folder / _CERTIFICATE
    return Papers(folder / _SERVED, paper, authority.certificate, names, left_out, until)


def _make(folder: Path, names: Sequence[Name], label: str, now: datetime) -> None:
    made = make_authority(names, label=label, now=now)
    folder.parent.mkdir(parents=True, exist_ok=True)
    # The folder comes into being with both files in it: of two shops that start at once one makes
    # it, and the other one finds it.
    hidden = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}-"))
    try:
        _write(hidden / _CERTIFICATE, made.certificate.public_bytes(Encoding.PEM))
        _write(hidden / _KEY, _pem(made.key))
        hidden.rename(folder)
    except OSError:
        if not folder.exists():
            raise
    finally:
        shutil.rmtree(hidden, ignore_errors=True)


def _authority_in(folder: Path) -> Authority:
    certificate, path = certificate_in(folder), folder / _KEY
    try:
        key = load_pem_private_key(path.read_bytes(), password=None)
    except OSError as error:
        raise _broken(path, _why(error)) from error
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise _broken(path, "it is no key, or locked with a password") from error
    if not isinstance(key, ec.EllipticCurvePrivateKey) or (
        key.public_key() != certificate.public_key()
    ):
        raise _broken(path, f"it does not belong to {_CERTIFICATE} beside it")
    if path.stat().st_mode & 0o077:  # as after a copy from elsewhere
        path.chmod(_OWNER_ONLY)
    return Authority(certificate, key)


def _check_time(certificate: x509.Certificate, folder: Path, now: datetime) -> None:
    begun, ended = certificate.not_valid_before_utc, certificate.not_valid_after_utc
    otherwise = f"if the clock is right, delete the folder {str(folder)!r} to have another one made"
    if now < begun:
        raise WrongClock(
            f"This machine's clock says {now:%Y-%m-%d}, but the shop's authority begins on "
            f"{begun:%Y-%m-%d}: set the clock; {otherwise}, which every device must trust anew."
        )
    if is_over(certificate, now):
        raise WrongClock(
            f"The shop's authority ran out on {ended:%Y-%m-%d}, and this machine's clock says "
            f"{now:%Y-%m-%d}: {otherwise}, which every device must trust anew."
        )


def _kept_good(path: Path, authority: Authority, names: Sequence[Name], now: datetime) -> datetime:
    """Make the server's certificate where there is no good one; return when it runs out."""
    with suppress(OSError, ValueError, TypeError, UnsupportedAlgorithm):
        there = path.read_bytes()
        served = x509.load_pem_x509_certificate(there)
        key = load_pem_private_key(there, password=None)
        if key.public_key() == served.public_key() and still_good(served, authority, names, now):
            path.chmod(_OWNER_ONLY)
            return served.not_valid_after_utc
    served, made = certify(authority, names, now)
    handle, hidden = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem}-")  # the owner's alone
    # One file, so that whoever reads it never has the key of one and the certificate of another.
    with os.fdopen(handle, "wb") as file:
        file.write(_pem(made) + served.public_bytes(Encoding.PEM))
    Path(hidden).replace(path)
    return served.not_valid_after_utc


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _write(path: Path, content: bytes) -> None:
    """Write a file that nobody else can read, not even while it is written."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ONLY)
    with os.fdopen(handle, "wb") as file:
        file.write(content)


def _broken(path: Path, why: str) -> BadAuthority:
    anew = _ANEW.format(folder=str(path.parent))
    return BadAuthority(f"{str(path)!r} cannot be used ({why}); {anew}.")


def _why(error: Exception) -> str:
    return (error.strerror or "") if isinstance(error, OSError) else str(error)
