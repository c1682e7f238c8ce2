"""The page on which a device comes to trust the shop: open to strangers, and only with HTTPS."""

from datetime import UTC, datetime
from ipaddress import ip_address

import pytest

from combwright.shop.https.authority import fingerprint
from combwright.shop.https.folder import certificate_in, prepare
from shop.people.persons import browser_of, somebody, text

pytestmark = pytest.mark.django_db
PAGE, FILE = "/people/trust/", "/people/trust/combwright-authority.crt"


@pytest.fixture
def authority(tmp_path, settings):
    """The folder of a shop that speaks HTTPS itself."""
    folder = tmp_path / "https"
    names = ["bench.local", ip_address("192.168.1.20"), ip_address("198.51.100.7")]
    prepare(folder, asked=names, own=["localhost"], label="bench", now=datetime.now(UTC))
    settings.AUTHORITY = folder
    return folder


def test_a_stranger_finds_the_fingerprint_the_steps_and_the_file(client, authority):
    somebody()
    answer = client.get(PAGE)
    assert answer.status_code == 200
    said = text(answer)
    assert fingerprint(certificate_in(authority)) in said.replace(": ", ":")
    assert "bench.local, localhost, and all below them" in said
    assert "those of private networks, 198.51.100.7" in said
    for system in ("iPadOS", "Android", "Windows", "macOS", "Linux"):
        assert system in said
    assert f'href="{FILE}"' in answer.content.decode()
    assert str(authority) not in answer.content.decode()


def test_the_file_is_of_the_type_that_devices_know_and_no_attachment(client, authority):
    answer = client.get(FILE)
    assert answer.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert "Content-Disposition" not in answer.headers
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert b"PRIVATE" not in answer.content


def test_the_door_and_ones_own_page_lead_there(client, authority):
    assert f'href="{PAGE}"' in client.get("/people/first/").content.decode()
    person = somebody()
    assert f'href="{PAGE}"' in client.get("/people/login/").content.decode()
    assert f'href="{PAGE}"' in browser_of(person).get("/people/me/").content.decode()


@pytest.mark.parametrize("address", [PAGE, FILE])
def test_it_is_only_looked_at(client, authority, address):
    assert client.head(address).status_code == 200
    assert client.post(address).status_code == 405


@pytest.mark.parametrize("address", [PAGE, FILE])
def test_without_https_of_its_own_there_is_no_such_page_and_nothing_leads_there(client, address):
    person = somebody()
    assert client.get(address).status_code == 404
    assert PAGE not in client.get("/people/login/").content.decode()
    assert PAGE not in browser_of(person).get("/people/me/").content.decode()


def test_an_authority_that_was_taken_away_meanwhile_is_not_there(client, authority):
    (authority / "authority.crt").unlink()
    assert client.get(PAGE).status_code == client.get(FILE).status_code == 404
