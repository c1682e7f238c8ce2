"""`combwright serve --https`, without opening the shop: what it says, sets and refuses."""

import os
import re
import socket
from ipaddress import ip_address
from unittest import mock

import pytest
from cryptography import x509

from cli.commands import combwright
from combwright.shop import serving
from combwright.shop.https import names
from combwright.shop.https.authority import fingerprint
from combwright.shop.https.folder import certificate_in
from combwright.shop.https.names import as_host
from combwright.shop.https.server import names_in


@pytest.fixture
def opened(monkeypatch):
    """What would be served; the machine is called bench and has an address in the workshop."""
    asked = []
    monkeypatch.setattr(serving, "serve_shop", lambda *how: asked.append(how))
    monkeypatch.setattr(socket, "gethostname", lambda: "bench")
    monkeypatch.setattr(names, "_of_all_cards", lambda: ["127.0.0.1", "192.168.1.20"])
    kept = {name: value for name, value in os.environ.items() if "COMBWRIGHT_" not in name}
    with mock.patch.dict(os.environ, kept, clear=True):
        yield asked


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def serve(folder, *more, port=None):
    return combwright("serve", "--data", folder, "--port", port or free_port(), *more)


def test_it_tells_where_to_open_the_shop_and_how_devices_come_to_trust_it(opened, tmp_path):
    port = free_port()
    answer = serve(tmp_path, "--https", "--host", "0.0.0.0", "--name", "shop.example", port=port)
    assert answer.code == 0
    hosts = re.findall(rf"^  https://(\S+):{port}/$", answer.out, re.MULTILINE)
    assert hosts == ["shop.example", "bench.local", "bench", "192.168.1.20", "localhost"]
    authority = tmp_path / "https" / "authority.crt"
    assert f"  file     {authority}\n" in answer.out
    shown = re.search(r"^  SHA-256  (\S+)$", answer.out, re.MULTILINE)[1]
    assert shown == fingerprint(certificate_in(authority.parent))
    assert f"https://shop.example:{port}/people/trust/" in answer.out
    for system in ("iPadOS", "Android", "Windows", "macOS", "Linux"):
        assert re.search(rf"^  {system}.*: \w", answer.out, re.MULTILINE)
    assert re.search(r"good until \d{4}-\d\d-\d\d;", answer.out)
    assert "whoever opens it first becomes its owner" in answer.err


def test_the_shop_is_told_its_names_and_its_certificate(opened, tmp_path):
    serve(tmp_path, "--https", "--host", "0.0.0.0", "--name", "shop.example")
    ((host, _port, papers),) = opened
    assert host == "0.0.0.0"
    found = papers()
    assert found.served == tmp_path / "https" / "server.pem"
    assert set(found.names) == {"shop.example", "bench.local", "bench", "localhost"} | {
        ip_address(each) for each in ("192.168.1.20", "127.0.0.1", "::1")
    }
    served = x509.load_pem_x509_certificate(found.served.read_bytes())
    assert names_in(served) == set(found.names)
    assert set(os.environ["COMBWRIGHT_HOSTS"].split()) == {as_host(each) for each in found.names}
    assert os.environ["COMBWRIGHT_AUTHORITY"] == str(tmp_path / "https")


def test_names_that_the_shop_had_before_are_kept_and_certified(opened, tmp_path):
    os.environ["COMBWRIGHT_HOSTS"] = ".workshop.example office.example"
    serve(tmp_path, "--https")
    kept = os.environ["COMBWRIGHT_HOSTS"].split()
    assert kept[:2] == [".workshop.example", "office.example"]
    assert {"bench.local", "localhost", "127.0.0.1", "[::1]"} < set(kept)
    assert "office.example" in opened[0][2]().names


def test_on_this_machine_alone_it_says_how_to_let_tablets_in(opened, tmp_path):
    port = free_port()
    answer = serve(tmp_path, "--https", port=port)
    assert re.findall(r"^  (https://\S+)$", answer.out, re.MULTILINE) == [
        f"https://localhost:{port}/"
    ]
    assert "--host 0.0.0.0 lets the workshop's network in" in answer.err


def test_a_machine_that_was_renamed_is_told_what_its_authority_does_not_know(
    opened, tmp_path, monkeypatch
):
    serve(tmp_path, "--https")
    monkeypatch.setattr(socket, "gethostname", lambda: "anvil")
    answer = serve(tmp_path, "--https")
    assert answer.code == 0
    assert "was not made for anvil.local, anvil: left out" in answer.err
    assert "anvil.local" in os.environ["COMBWRIGHT_HOSTS"].split()


def test_without_https_nothing_of_it_is_there(opened, tmp_path):
    answer = serve(tmp_path)
    assert (answer.code, answer.err) == (0, "")
    assert "http://127.0.0.1:" in answer.out
    assert opened[0][2] is None
    assert not (tmp_path / "https").exists()


def test_the_practice_shop_has_the_certificates_of_the_real_one(opened, tmp_path):
    os.environ["COMBWRIGHT_AUTHORITY"] = str(tmp_path / "real" / "https")
    serve(tmp_path / "practice", "--https")
    assert opened[0][2]().authority == tmp_path / "real" / "https" / "authority.crt"
    assert not (tmp_path / "practice" / "https").exists()


@pytest.mark.parametrize(
    ("given", "why"),
    [
        (["--name", "shop.example"], "--name is for the certificates of --https; give that too"),
        (["--https", "--name", "https://shop"], "alone, such as .*; it is 'https://shop'"),
        (["--https", "--name", "0.0.0.0"], "No certificate can be made out to '0.0.0.0'"),
    ],
)
def test_what_cannot_be_served_so_is_told_in_one_line(opened, tmp_path, given, why):
    assert re.search(why, serve(tmp_path, *given).error)
    assert opened == []
    assert not (tmp_path / "https").exists()


def test_a_port_that_is_taken_is_told_before_anything_is_made(opened, tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as other:
        answer = serve(tmp_path, "--https", port=other.getsockname()[1])
    assert "cannot be opened at 127.0.0.1, port" in answer.error
    assert not (tmp_path / "https").exists()


def test_https_from_two_sides_is_told(opened, tmp_path):
    os.environ["COMBWRIGHT_HTTPS"] = "1"
    assert "a server before the shop speaks HTTPS" in serve(tmp_path, "--https").error


def test_a_damaged_authority_is_told_in_one_line(opened, tmp_path):
    serve(tmp_path, "--https")
    (tmp_path / "https" / "authority.crt").write_text("nonsense")
    assert "it is no certificate" in serve(tmp_path, "--https").error
    assert len(opened) == 1
