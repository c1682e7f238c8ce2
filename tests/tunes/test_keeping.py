"""Tunes are kept as plain values and come back as they were."""

import json

from combwright.tunes.keeping import from_plain, to_plain
from combwright.tunes.tune import Tune, TuneNote

TUNE = Tune("Two notes", (TuneNote(60, 0, 12), TuneNote(67, 24, 12)), "a.abc 1", ("odd",))


def test_a_tune_comes_back_through_json() -> None:
    assert from_plain(json.loads(json.dumps(to_plain(TUNE)))) == TUNE


def test_what_a_later_version_kept_beside_is_left_out() -> None:
    assert from_plain({**to_plain(TUNE), "colour": "blue"}) == TUNE
