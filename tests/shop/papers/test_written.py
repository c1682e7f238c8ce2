from urllib.parse import quote, unquote, urlsplit

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from combwright.shop.papers.written import LETTERS, Read, address, is_garbled, mark, read

names = st.text(st.characters(codec="utf-8"), min_size=1, max_size=40)
letters = st.sampled_from(LETTERS)
origins = st.sampled_from(
    ["http://192.168.1.20:8000", "https://shop.lan", "http://[fe80::1]:8000", "https://a.b/shop"]
)


@given(origins, letters, names)
def test_an_address_is_read_back_whatever_the_code_holds(origin, letter, name):
    assert read(address(origin, letter, name)) == (Read(name, letter),)


@given(letters, names)
def test_only_the_path_of_an_address_counts(letter, name):
    path = urlsplit(address("http://old.lan", letter, name)).path
    assert read(f"https://new.lan:9{path}") == read(path) == (Read(name, letter),)


@given(letters, names)
def test_a_code_within_an_address_is_one_part_of_its_path(letter, name):
    parts = urlsplit(address("http://shop.lan", letter, name))
    assert (parts.query, parts.fragment) == ("", "")
    assert parts.path.count("/") == 4
    assert unquote(parts.path.rsplit("/", 1)[1]) == name


@given(letters, names)
def test_a_mark_is_read_back_and_may_be_a_code_itself(letter, name):
    assume(name == name.strip() and "\n" not in name)
    assert read(mark(letter, name)) == (Read(name, letter), Read(mark(letter, name)))


@given(names)
def test_what_is_typed_by_hand_is_always_taken_as_a_code_too(name):
    assume(name.strip() and "/papers/s/" not in name)
    assert read(f" {name}\n")[-1] == Read(name.strip())


def test_nothing_names_nothing():
    assert read("  \n") == ()


@pytest.mark.parametrize("text", ["https://elsewhere.example/s/b/A-1", "http://shop.lan/rack/"])
def test_addresses_of_other_pages_are_no_labels(text):
    assert read(text) == (Read(text),)


def test_capitals_of_an_address_do_not_matter_but_those_of_a_code_do():
    assert read("HTTP://SHOP.LAN/PAPERS/S/B/a-7") == (Read("a-7", "b"),)


def test_an_address_typed_for_another_keyboard_is_known_as_such():
    assert is_garbled("httpÖ--192.168.1.20Ö8000-papers-s-b-Aß07ß1")
    assert not is_garbled("http://shop.lan/papers/s/b/A-1")
    assert not is_garbled("A-07-1")


def test_a_slash_in_a_code_is_percent_encoded():
    assert address("http://s", "b", "A/1 ä") == "http://s/papers/s/b/A%2F1%20" + quote("ä")
