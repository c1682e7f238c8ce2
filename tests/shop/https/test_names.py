"""Which names and addresses a certificate is made out to."""

import socket
from ipaddress import ip_address

import pytest

from combwright.shop.https import names
from combwright.shop.https.faults import BadName
from combwright.shop.https.names import (
    addresses_listened_on,
    as_host,
    names_of_this_machine,
    read_name,
)

LOCAL = ["localhost", ip_address("127.0.0.1"), ip_address("::1")]


@pytest.mark.parametrize(
    ("given", "read"),
    [
        ("Shop.Workshop.Example.", "shop.workshop.example"),
        ("192.168.1.20", ip_address("192.168.1.20")),
        ("[fd00::20]", ip_address("fd00::20")),
        ("bänke.example", "xn--bnke-loa.example"),
        ("3reeds", "3reeds"),
    ],
)
def test_names_and_addresses_are_told_apart(given, read):
    assert read_name(given) == read


@pytest.mark.parametrize(
    "given",
    ["", "https://shop.example", "shop.example:8765", "*.example", "a_b", "-a", "192.168.1.300",
     "shop example", "a" * 64, ".".join(["abc"] * 64), "0.0.0.0", "::", "224.0.0.1", "fe80::1%eth0",
     "a..b", "x" * 200 + "ä"],
)  # fmt: skip
def test_what_no_certificate_can_hold_is_refused_with_what_would_be_right(given):
    with pytest.raises(BadName, match=r"192\.168\.1\.20") as refused:
        read_name(given)
    assert repr(given[:80]) in str(refused.value)


@pytest.mark.parametrize(
    ("called", "found"),
    [
        ("Bench", ["bench.local", "bench"]),
        ("bench.workshop.example", ["bench.local", "bench", "bench.workshop.example"]),
        ("bench.local", ["bench.local", "bench"]),
        ("localhost", []),
        ("bench_2", []),
    ],
)
def test_a_machine_is_reached_by_its_name_and_that_under_local(called, found, monkeypatch):
    monkeypatch.setattr(socket, "gethostname", lambda: called)
    assert names_of_this_machine() == found


def test_a_shop_that_listens_everywhere_has_all_its_private_addresses(monkeypatch):
    cards = ["127.0.0.1", "192.168.1.20", "10.0.0.4", "198.51.100.7", "169.254.3.4", "fd00::4",
             "fe80::4", "2001:db8::4", "192.168.1.20"]  # fmt: skip
    monkeypatch.setattr(names, "_of_all_cards", lambda: cards)
    here = [ip_address("10.0.0.4"), ip_address("192.168.1.20")]
    assert addresses_listened_on("0.0.0.0") == [*here, *LOCAL]
    assert addresses_listened_on("::") == [*here, ip_address("fd00::4"), *LOCAL]


def test_the_machines_own_cards_are_asked():
    assert "127.0.0.1" in set(names._of_all_cards())


def test_a_shop_that_listens_at_one_address_has_that_one():
    there = ip_address("192.168.1.20")
    assert addresses_listened_on("192.168.1.20") == [there, *LOCAL]
    assert addresses_listened_on("localhost") == LOCAL


def test_an_address_of_the_longer_kind_stands_in_brackets():
    assert [as_host(read_name(each)) for each in ("::1", "10.0.0.1")] == ["[::1]", "10.0.0.1"]
