"""Tunes are kept as plain values and come back as they were."""

import json

from combwright.tunes.keeping import from_plain, to_plain
from combwright.tunes.tune import Tune, TuneNote

NOTES = (TuneNote(60, 0, 12), TuneNote(67, 24, 12))
TUNE = Tune("Two notes", NOTES, "a.abc 1", ("odd",), (24,), -3, "2/4")


def test_a_tune_comes_back_through_json() -> None:
    assert from_plain(json.loads(json.dumps(to_plain(TUNE)))) == TUNE


def test_what_a_later_version_kept_beside_is_left_out() -> None:
    assert from_plain({**to_plain(TUNE), "colour": "blue"}) == TUNE


def test_what_an_earlier_version_did_not_keep_is_as_usual() -> None:
    plain = to_plain(TUNE)
    for name in ("bars", "fifths", "metre"):
        del plain[name]
    assert from_plain(plain) == Tune("Two notes", NOTES, "a.abc 1", ("odd",))
