"""What the authority and the server's certificate say, and whom OpenSSL and others believe."""

import hashlib
import re
import ssl
import stat
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from threading import Barrier, Semaphore, Thread

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from combwright.shop.https.authority import Authority, fingerprint, make_authority
from combwright.shop.https.faults import BadAuthority, NoHttps, NotVouchedFor, WrongClock
from combwright.shop.https.folder import certificate_in, prepare
from combwright.shop.https.renewing import kept_good, renew
from combwright.shop.https.server import certify
from shop.https.handshakes import device, names_of, serving, shake_hands

NOW = datetime.now(UTC).replace(microsecond=0)
DAY = timedelta(days=1)
OWN = ["bench.local", "bench", ip_address("192.168.1.20"), "localhost", ip_address("127.0.0.1")]
ANEW = "delete the folder .* to have another"


def made(folder, *, asked=(), own=OWN, now=NOW):
    return prepare(folder, asked=asked, own=own, label="bench", now=now)


def served_in(folder):
    return x509.load_pem_x509_certificate((folder / "server.pem").read_bytes())


@pytest.fixture
def folder(tmp_path):
    """A folder with everything in it."""
    made(tmp_path / "https")
    return tmp_path / "https"


@pytest.mark.parametrize("name", ["bench.local", "a.bench.local", "bench", "192.168.1.20"])
def test_a_device_that_trusts_the_authority_believes_each_of_the_shops_names(tmp_path, name):
    papers = made(tmp_path / "https", asked=["a.bench.local"])
    believed = shake_hands(serving(papers.served), device(papers.authority), name)
    assert names_of(believed) == {"a.bench.local", *map(str, OWN)}


def test_a_device_that_does_not_trust_it_refuses(folder):
    with pytest.raises(ssl.SSLCertVerificationError, match="unable to get local issuer"):
        shake_hands(serving(folder / "server.pem"), device(), "bench.local")


def test_a_device_refuses_a_name_that_the_certificate_does_not_have(folder):
    with pytest.raises(ssl.SSLCertVerificationError, match="Hostname mismatch"):
        shake_hands(serving(folder / "server.pem"), device(folder / "authority.crt"), "other.local")


@pytest.mark.parametrize("name", ["bank.example", "notbench.local", ip_address("198.51.100.7")])
def test_with_the_authoritys_key_nobody_can_pose_as_another(folder, name, tmp_path):
    certificate = certificate_in(folder)
    key = load_pem_private_key((folder / "authority.key").read_bytes(), None)
    forged, its_key = certify(Authority(certificate, key), [name], NOW)
    (tmp_path / "forged.pem").write_bytes(pem(its_key) + forged.public_bytes(Encoding.PEM))
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(serving(tmp_path / "forged.pem"), device(folder / "authority.crt"), str(name))


def test_another_reader_of_certificates_believes_the_same(folder):
    store = Store([certificate_in(folder)])
    for name in (x509.DNSName("bench.local"), x509.IPAddress(ip_address("192.168.1.20"))):
        verifier = PolicyBuilder().store(store).time(NOW).build_server_verifier(name)
        assert verifier.verify(served_in(folder), [])[-1] == certificate_in(folder)
    with pytest.raises(VerificationError):
        PolicyBuilder().store(store).time(NOW).build_server_verifier(
            x509.DNSName("other.local")
        ).verify(served_in(folder), [])


def test_the_authority_is_one_for_ten_years_and_may_sign_nothing_but_servers(folder):
    certificate = certificate_in(folder)
    assert certificate.not_valid_before_utc == NOW - DAY  # for clocks that are slow
    assert certificate.not_valid_after_utc - certificate.not_valid_before_utc == 3652 * DAY
    limits = {each.oid._name: each for each in certificate.extensions}
    assert limits["basicConstraints"].value == x509.BasicConstraints(ca=True, path_length=0)
    assert {name for name, each in limits.items() if each.critical} == {
        "basicConstraints", "keyUsage", "nameConstraints",
    }  # fmt: skip


def test_the_servers_certificate_lasts_no_longer_than_devices_allow(folder):
    served = served_in(folder)
    assert served.not_valid_after_utc - served.not_valid_before_utc == 397 * DAY
    usage = served.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert [each._name for each in usage] == ["serverAuth"]
    assert not served.extensions.get_extension_for_class(x509.BasicConstraints).value.ca


def test_the_fingerprint_is_that_of_openssl(folder):
    der = ssl.PEM_cert_to_DER_cert((folder / "authority.crt").read_text())
    shown = fingerprint(certificate_in(folder))
    assert shown.replace(":", "").lower() == hashlib.sha256(der).hexdigest()
    assert re.fullmatch("(?:[0-9A-F]{2}:){31}[0-9A-F]{2}", shown)


def test_keys_are_readable_by_their_owner_only_also_when_they_were_copied(folder):
    for name in ("authority.key", "server.pem"):
        (folder / name).chmod(0o644)
    made(folder)
    for name in ("authority.key", "server.pem"):
        assert stat.S_IMODE((folder / name).stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert sorted(each.name for each in folder.parent.iterdir()) == ["https"]


def test_started_again_it_serves_the_same_certificate(folder):
    before = {each.name: each.read_bytes() for each in folder.iterdir()}
    made(folder, now=NOW + 366 * DAY)
    assert {each.name: each.read_bytes() for each in folder.iterdir()} == before


@pytest.mark.parametrize(
    "change",
    [
        {"now": NOW + 367 * DAY},
        {"own": OWN[:-1]},
        {"own": [*OWN, ip_address("10.0.0.4")]},
        {"asked": ["new.bench"]},
    ],
    ids=["29 days left", "a name less", "an address more", "a name more"],
)
def test_it_is_made_anew_by_the_same_authority_when_it_is_due(folder, change):
    earlier, trusted = served_in(folder), certificate_in(folder)
    papers = made(folder, **change)
    assert served_in(folder).serial_number != earlier.serial_number
    assert certificate_in(folder) == trusted
    assert papers.until == change.get("now", NOW) - DAY + 397 * DAY
    assert served_in(folder).not_valid_after_utc == papers.until


@pytest.mark.parametrize(
    "content", [b"", b"nonsense", None], ids=["empty", "nonsense", "its key lost"]
)
def test_a_damaged_servers_certificate_is_made_anew(folder, content):
    path = folder / "server.pem"
    if content is None:
        content = served_in(folder).public_bytes(Encoding.PEM)
    path.write_bytes(content)
    shake_hands(serving(made(folder).served), device(folder / "authority.crt"), "bench")


def test_one_that_was_made_while_the_clock_was_ahead_is_made_anew(folder):
    made(folder, now=NOW + 700 * DAY)
    assert served_in(folder).not_valid_before_utc > NOW
    made(folder)
    assert served_in(folder).not_valid_before_utc == NOW - DAY


def test_near_the_authoritys_end_the_last_certificate_ends_with_it_and_is_kept(folder):
    late = certificate_in(folder).not_valid_after_utc - 5 * DAY
    papers = made(folder, now=late)
    assert papers.until == certificate_in(folder).not_valid_after_utc
    serial = served_in(folder).serial_number
    made(folder, now=late + DAY)
    assert served_in(folder).serial_number == serial


def test_names_of_the_machine_that_an_older_authority_may_not_vouch_for_are_left_out(folder):
    papers = made(folder, own=["renamed.local", *OWN])
    assert papers.left_out == ["renamed.local"]
    assert papers.names == OWN
    with pytest.raises(NotVouchedFor, match=f"vouch for shop.example: .*bench.local.*; or {ANEW}"):
        made(folder, asked=["shop.example"])


def test_a_public_address_is_vouched_for_when_it_was_asked_for_at_first(tmp_path):
    public = ip_address("198.51.100.7")
    papers = made(tmp_path / "https", asked=[public])
    shake_hands(serving(papers.served), device(papers.authority), str(public))
    with pytest.raises(NotVouchedFor, match=r"198\.51\.100\.8"):
        made(tmp_path / "https", asked=[ip_address("198.51.100.8")])


def pem(key, secret=None):
    lock = BestAvailableEncryption(secret) if secret else NoEncryption()
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, lock)


def somebody_elses(name="Other"):
    """Return a certificate that Combwright did not make, as a file."""
    key = ec.generate_private_key(ec.SECP256R1())
    called = x509.Name([x509.NameAttribute(x509.NameOID.ORGANIZATION_NAME, name)])
    builder = x509.CertificateBuilder(called, called, key.public_key(), 1, NOW, NOW + DAY)
    return builder.sign(key, SHA256()).public_bytes(Encoding.PEM)


def another_key():
    return make_authority(OWN, label="bench", now=NOW).key


@pytest.mark.parametrize(
    ("name", "content", "why"),
    [
        ("authority.crt", lambda: b"nonsense", "it is no certificate"),
        ("authority.crt", lambda: None, "No such file"),
        ("authority.crt", lambda: somebody_elses(), "not made by"),
        ("authority.crt", lambda: somebody_elses("Combwright"), "no authority's"),
        ("authority.key", lambda: b"nonsense", "it is no key"),
        ("authority.key", lambda: None, "No such file"),
        ("authority.key", lambda: pem(another_key()), "does not belong to authority.crt"),
        ("authority.key", lambda: pem(rsa.generate_private_key(65537, 2048)), "does not belong"),
        ("authority.key", lambda: pem(another_key(), b"x"), "locked with a password"),
    ],
)  # fmt: skip
def test_damaged_and_foreign_files_are_named_and_left_as_they_are(folder, name, content, why):
    path = folder / name
    path.unlink()
    if (instead := content()) is not None:
        path.write_bytes(instead)
    before = {each.name: each.read_bytes() for each in folder.iterdir()}
    with pytest.raises(BadAuthority, match=f"{re.escape(str(path))}.*{why}.*{ANEW}"):
        made(folder)
    assert {each.name: each.read_bytes() for each in folder.iterdir()} == before


@pytest.mark.parametrize(
    ("now", "why"),
    [
        (datetime(1970, 1, 1, tzinfo=UTC), "clock says 1970-01-01; set it"),
        (NOW - 40 * DAY, f"but the shop's authority begins on .*{ANEW}"),
        (NOW + 4000 * DAY, f"ran out on .*, and this machine's clock says .*{ANEW}"),
    ],
)
def test_a_clock_that_is_far_off_is_told(folder, now, why):
    with pytest.raises(WrongClock, match=why):
        made(folder, now=now)


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(NoHttps, match="make it writable"):
        made(tmp_path / "file" / "https")


def test_of_many_that_start_at_once_all_serve_under_one_authority(tmp_path):
    found, faults, together = [], [], Barrier(8)

    def start():
        together.wait()
        try:
            found.append(fingerprint(made(tmp_path / "https").certificate))
        except Exception as error:
            faults.append(error)

    threads = [Thread(target=start) for _ in range(8)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert faults == []
    assert len(set(found)) == 1
    assert sorted(each.name for each in tmp_path.iterdir()) == ["https"]
    shake_hands(
        serving(tmp_path / "https" / "server.pem"),
        device(tmp_path / "https" / "authority.crt"),
        "bench",
    )


def test_a_server_that_runs_gets_the_next_certificate_for_new_connections(folder):
    server, client = serving(folder / "server.pem"), device(folder / "authority.crt")
    before = shake_hands(server, client, "bench")["serialNumber"]
    renew(server, lambda: made(folder))
    assert shake_hands(server, client, "bench")["serialNumber"] == before
    renew(server, lambda: made(folder, own=[*OWN, "more.bench"]))
    assert shake_hands(server, client, "more.bench")["serialNumber"] != before


def test_a_fault_while_it_runs_is_logged_and_it_serves_on(folder, caplog):
    server, client = serving(folder / "server.pem"), device(folder / "authority.crt")
    (folder / "authority.key").unlink()
    renew(server, lambda: made(folder))
    assert "authority.key" in caplog.text
    shake_hands(server, client, "bench")


def test_while_a_server_runs_it_is_looked_after_again_and_again(folder):
    asked = Semaphore(0)

    def papers():
        asked.release()
        return made(folder)

    with kept_good(serving(folder / "server.pem"), papers, every_seconds=0.001):
        assert all(asked.acquire(timeout=30) for _ in range(3))
