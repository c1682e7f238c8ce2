"""A shop served with HTTPS as a person starts it, asked by clients that trust it and do not."""

import hashlib
import http.cookiejar
import re
import signal
import socket
import ssl
import subprocess
import time
import urllib.error
import urllib.parse
import urllib.request
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

import pytest
from uvicorn.protocols.websockets.auto import AutoWebSocketsProtocol

from cli.commands import COMMAND
from shop.https.handshakes import device, names_of
from shop.https.test_command import free_port
from shop.journeys.served import environment

pytestmark = pytest.mark.journey
PATIENCE_SECONDS = 120


@dataclass(frozen=True)
class Open:
    """A shop that is open."""

    port: int
    folder: Path

    @property
    def authority(self):
        return self.folder / "https" / "authority.crt"

    @property
    def origin(self):
        return f"https://localhost:{self.port}"


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    folder, port = tmp_path_factory.mktemp("https") / "shop", free_port()
    log = folder.parent / "log"
    with log.open("w") as written:
        running = subprocess.Popen(
            [COMMAND, "serve", "--https", "--name", "shop.example", "--port", str(port),
             "--data", folder],
            env=environment(), stdout=written, stderr=subprocess.STDOUT,
        )  # fmt: skip
    try:
        until = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < until:
            assert running.poll() is None, log.read_text()
            try:
                answer(Open(port, folder), "/people/trust/")
            except OSError:
                time.sleep(0.1)
            else:
                break
        yield Open(port, folder)
    finally:
        running.send_signal(signal.SIGINT)
        running.wait(PATIENCE_SECONDS)
        assert "Traceback" not in log.read_text()


def browser(shop):
    trusting = urllib.request.HTTPSHandler(context=device(shop.authority))
    kept = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
    return urllib.request.build_opener(trusting, kept)


def answer(shop, path):
    with browser(shop).open(shop.origin + path, timeout=30) as given:
        return given, given.read()


@pytest.mark.parametrize("name", ["localhost", "127.0.0.1", "shop.example"])
def test_who_trusts_the_authority_gets_in_under_each_name(shop, name):
    with (
        socket.create_connection(("127.0.0.1", shop.port), timeout=30) as plain,
        device(shop.authority).wrap_socket(plain, server_hostname=name) as safe,
    ):
        assert name in names_of(safe.getpeercert())
        safe.sendall(f"GET /people/trust/ HTTP/1.0\r\nHost: {name}:{shop.port}\r\n\r\n".encode())
        assert safe.recv(100).startswith(b"HTTP/1.1 200 OK")


def test_who_does_not_trust_it_refuses(shop):
    with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
        urllib.request.urlopen(f"{shop.origin}/people/trust/", timeout=30)


@pytest.mark.parametrize(
    ("ciphers", "spoken"),
    [("ECDHE-ECDSA-AES128-GCM-SHA256", True), ("ECDHE-ECDSA-AES128-SHA:AES128-SHA", False)],
)
def test_older_devices_are_served_with_good_ciphers_only(shop, ciphers, spoken):
    older = device(shop.authority)
    older.maximum_version = ssl.TLSVersion.TLSv1_2
    older.set_ciphers(ciphers)
    refused = nullcontext() if spoken else pytest.raises((ssl.SSLError, ConnectionError))
    with socket.create_connection(("127.0.0.1", shop.port), timeout=30) as plain, refused:
        older.wrap_socket(plain, server_hostname="localhost").close()


def test_nothing_is_said_to_who_speaks_plainly(shop):
    with socket.create_connection(("127.0.0.1", shop.port), timeout=30) as plain:
        plain.sendall(b"GET / HTTP/1.0\r\n\r\n")
        assert plain.recv(100) == b""


def test_a_device_gets_the_certificate_to_trust_and_how(shop):
    given, content = answer(shop, "/people/trust/combwright-authority.crt")
    assert given.headers["Content-Type"] == "application/x-x509-ca-cert"
    assert "Content-Disposition" not in given.headers
    assert content == ssl.PEM_cert_to_DER_cert(shop.authority.read_text())
    digest = hashlib.sha256(content).hexdigest().upper()
    page = answer(shop, "/people/trust/")[1].decode()
    assert ":".join(re.findall("..", digest)) in page.replace("<wbr>", "")
    assert '"/people/trust/"' in answer(shop, "/people/first/")[1].decode()


def test_people_come_in_by_cookies_that_go_over_https_alone_and_no_lasting_promise_is_made(shop):
    reader = browser(shop)
    with reader.open(f"{shop.origin}/people/first/", timeout=30) as first:
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', first.read().decode())[1]
        assert "Strict-Transport-Security" not in first.headers
    sent = {"csrfmiddlewaretoken": token, "name": "olga", "full_name": "Olga Reedmace",
            "password": "nine brass rivets", "again": "nine brass rivets"}  # fmt: skip
    asked = urllib.request.Request(
        f"{shop.origin}/people/first/",
        urllib.parse.urlencode(sent).encode(),
        {"Referer": f"{shop.origin}/people/first/", "Origin": shop.origin},
    )
    with reader.open(asked, timeout=30) as inside:
        assert "The shop is yours" in inside.read().decode()
    (jar,) = [each.cookiejar for each in reader.handlers if hasattr(each, "cookiejar")]
    assert {each.name: each.secure for each in jar} == {"sessionid": True, "csrftoken": True}


def test_another_sites_form_is_refused(shop):
    asked = urllib.request.Request(
        f"{shop.origin}/people/login/", b"name=x", {"Origin": f"http://localhost:{shop.port}"}
    )
    with pytest.raises(urllib.error.HTTPError) as refused:
        browser(shop).open(asked, timeout=30)
    assert refused.value.code == 403
    refused.value.close()


def test_the_server_knows_websockets():
    assert AutoWebSocketsProtocol is not None
