"""The certificate that the shop is served with: short-lived, and made anew by the shop itself."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv6Address
from typing import Final

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from combwright.shop.https.authority import SLOW_CLOCKS, Authority
from combwright.shop.https.names import Name

#: Some devices refuse a server's certificate that is valid for longer than 398 days.
VALID: Final = timedelta(days=397)
#: One that has fewer days left is made anew.
_LEFT: Final = timedelta(days=30)
_MOST_LETTERS: Final = 64


def certify(
    authority: Authority, names: Sequence[Name], now: datetime
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    """Make a certificate for some names, and its key.

    Parameters
    ----------
    authority : Authority
        Must be allowed to vouch for all of them.
    names : sequence of Name
        Not empty.
    now : datetime
        The time.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    ours, theirs = key.public_key(), authority.certificate.public_key()
    assert isinstance(theirs, ec.EllipticCurvePublicKey)
    begun = now - SLOW_CLOCKS
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, str(names[0])[:_MOST_LETTERS])])
    called = x509.SubjectAlternativeName([_general(each) for each in names])
    certificate = (
        x509.CertificateBuilder(
            authority.certificate.subject, subject, ours, x509.random_serial_number()
        )
        .not_valid_before(max(begun, authority.certificate.not_valid_before_utc))
        .not_valid_after(min(begun + VALID, authority.certificate.not_valid_after_utc))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_only_signs(), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(called, critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(ours), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(theirs), critical=False)
        .sign(authority.key, hashes.SHA256())
    )
    return certificate, key


def _general(name: Name) -> x509.GeneralName:
    return x509.DNSName(name) if isinstance(name, str) else x509.IPAddress(name)


def _only_signs() -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=True,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )


def names_in(certificate: x509.Certificate) -> set[Name]:
    """Return what a certificate is made out to."""
    called = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    addresses = called.get_values_for_type(x509.IPAddress)
    return {
        *called.get_values_for_type(x509.DNSName),
        *(each for each in addresses if isinstance(each, IPv4Address | IPv6Address)),
    }


def still_good(
    certificate: x509.Certificate, authority: Authority, names: Sequence[Name], now: datetime
) -> bool:
    """Say whether a certificate can be served on: of this authority, these names, long enough."""
    try:
        certificate.verify_directly_issued_by(authority.certificate)
        same = names_in(certificate) == set(names)
    except (InvalidSignature, ValueError, TypeError, x509.ExtensionNotFound):
        return False
    # One of an authority that ends sooner cannot be made to last longer.
    enough = min(now + _LEFT, authority.certificate.not_valid_after_utc)
    begun = certificate.not_valid_before_utc <= now
    return same and begun and enough <= certificate.not_valid_after_utc
