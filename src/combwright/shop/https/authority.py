"""The workshop's own certificate authority: made once, trusted by each device by hand.

It may vouch for the shop's names and for addresses of private networks, and for nothing else: who
stole its key could not pose as anybody on the Internet ([rfc5280] 4.2.1.10).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Network, IPv6Network, ip_network
from secrets import token_hex
from typing import Final

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from combwright.shop.https.faults import BadAuthority, NotVouchedFor
from combwright.shop.https.names import LOOPBACK, PRIVATE, Name, is_in

VALID: Final = timedelta(days=3652)
#: Certificates begin a day before they are made, for tablets whose clock is a little slow.
SLOW_CLOCKS: Final = timedelta(days=1)
_MAKER: Final = "Combwright"
_LETTERS_OF_A_NAME: Final = 40


@dataclass(frozen=True, slots=True)
class Authority:
    """A certificate that devices trust, and the key that signs with it."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    def vouches_for(self, name: Name) -> bool:
        """Say whether devices believe the authority about a name."""
        if isinstance(name, str):
            hosts = allowed_names(self.certificate)
            return any(name == each or name.endswith(f".{each}") for each in hosts)
        return is_in(name, [e for e in _allowed(self.certificate) if not isinstance(e, str)])


def make_authority(names: Iterable[Name], *, label: str, now: datetime) -> Authority:
    """Make an authority that may vouch for some names, all below them, and private addresses.

    Parameters
    ----------
    names : iterable of Name
        Addresses of public networks among them are allowed one by one.
    label : str
        What it is called on a device, after the maker's name.
    now : datetime
        The time.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    # Two of one name confuse devices and people: one that is made anew is called otherwise.
    called = f"{_MAKER} {label[:_LETTERS_OF_A_NAME]} {token_hex(3)}"
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, _MAKER),
            x509.NameAttribute(NameOID.COMMON_NAME, called),
        ]
    )
    begun = now - SLOW_CLOCKS
    may_sign = x509.KeyUsage(
        digital_signature=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=True,
        crl_sign=True,
        encipher_only=False,
        decipher_only=False,
    )
    certificate = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(begun)
        .not_valid_after(begun + VALID)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(may_sign, critical=True)
        .add_extension(_only_for(names), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    return Authority(certificate, key)


def _only_for(names: Iterable[Name]) -> x509.NameConstraints:
    hosts: list[x509.GeneralName] = []
    single: list[x509.GeneralName] = []
    known = (*LOOPBACK, *PRIVATE)
    for name in names:
        if isinstance(name, str):
            hosts.append(x509.DNSName(name))
        elif not is_in(name, known):
            single.append(x509.IPAddress(ip_network(name)))
    ranges = [x509.IPAddress(each) for each in known]
    return x509.NameConstraints(
        permitted_subtrees=[*hosts, *single, *ranges], excluded_subtrees=None
    )


def _allowed(certificate: x509.Certificate) -> Sequence[str | IPv4Network | IPv6Network]:
    limits = certificate.extensions.get_extension_for_class(x509.NameConstraints).value
    return [
        each.value
        for each in limits.permitted_subtrees or ()
        if isinstance(each.value, str | IPv4Network | IPv6Network)
    ]


def allowed_names(certificate: x509.Certificate) -> list[str]:
    """Return the hosts' names that an authority may vouch for."""
    return [each for each in _allowed(certificate) if isinstance(each, str)]


def allowed_addresses(certificate: x509.Certificate) -> list[str]:
    """Return the addresses beyond private networks that an authority may vouch for."""
    known = (*LOOPBACK, *PRIVATE)
    others = [each for each in _allowed(certificate) if not isinstance(each, str)]
    return [str(each.network_address) for each in others if each not in known]


def refuse_foreign(certificate: x509.Certificate) -> None:
    """Make sure that a certificate is that of an authority which Combwright made.

    Raises
    ------
    BadAuthority
        If it is not.
    """
    makers = certificate.subject.get_attributes_for_oid(NameOID.ORGANIZATION_NAME)
    if [each.value for each in makers] != [_MAKER]:
        raise BadAuthority("it was not made by Combwright")
    try:
        certificate.verify_directly_issued_by(certificate)
        limits = certificate.extensions.get_extension_for_class(x509.BasicConstraints).value
        _allowed(certificate)
    except (InvalidSignature, ValueError, TypeError, x509.ExtensionNotFound) as error:
        raise BadAuthority("it is no authority's certificate") from error
    if not limits.ca:
        raise BadAuthority("it is no authority's certificate")


def refuse_unvouched(authority: Authority, names: Iterable[Name], *, place: str) -> None:
    """Make sure that the authority may vouch for names that somebody asked for.

    Raises
    ------
    NotVouchedFor
        If it may not.
    """
    others = [str(each) for each in names if not authority.vouches_for(each)]
    if others:
        known = ", ".join(allowed_names(authority.certificate))
        raise NotVouchedFor(
            f"The shop's authority cannot vouch for {', '.join(others)}: it was made for {known}, "
            "all below them, and private addresses. Leave the name out; or delete the folder "
            f"{place!r} to have another authority made, which every device must trust anew."
        )


def fingerprint(certificate: x509.Certificate) -> str:
    """Return the SHA-256 fingerprint as devices show it: pairs of digits with colons."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def is_over(certificate: x509.Certificate, now: datetime | None = None) -> bool:
    """Say whether a certificate's time has run out."""
    return (now or datetime.now(UTC)) > certificate.not_valid_after_utc
