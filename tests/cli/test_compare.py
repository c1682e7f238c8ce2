"""`combwright compare`, on instruments made up here, so that what differs is known."""

import xml.etree.ElementTree as ET

import numpy as np
import pytest
import soundfile

from cli.commands import combwright
from cli.shapes import NUMBER, check_shape
from ear.instruments import made

PLACE = {"hole": int, "deck": {"upper", "lower"}, "breath": {"blow", "draw"}}
MAYBE = (NUMBER, None)
VERDICT = {"the same", "different", "cannot tell"}


def difference(value, unit, *, judged=False):
    keys = [f"a_{value}", f"b_{value}", f"difference_{unit}", f"low_{unit}", f"high_{unit}"]
    return dict.fromkeys(keys, MAYBE) | ({"p": MAYBE, "verdict": VERDICT} if judged else {})


MEAN = ({"mean": NUMBER, "low": MAYBE, "high": MAYBE}, None)
BANDS = {"a_db": [MAYBE], "b_db": [MAYBE], "difference_db": [MAYBE], "rms_db": MAYBE}
COMPARE = {
    "schema": {1}, "a": [str], "b": [str], "rate": int,
    "margins": {"level_db": NUMBER, "cents": NUMBER, "confidence": NUMBER},
    "levels_matched": bool, "level_difference_db": MAYBE,
    "same": int, "different": int, "cannot_tell": int, "bands_hz": [NUMBER],
    "notes": [
        PLACE | {
            "note": str, "repeats": {"a": int, "b": int}, "scatter": ({"repeats", "notes"}, None),
            "verdict": VERDICT, "why": str,
            "level": difference("lkfs", "db", judged=True),
            "pitch": difference("cents", "cents", judged=True),
            "attack": difference("ms", "ms"),
            "steadiness": difference("cents", "cents"),
            "bands": (BANDS, None),
        }
    ],
    "whole": {
        "level_db": MEAN, "pitch_cents": MEAN, "attack_ms": MEAN, "steadiness_cents": MEAN,
        "bands_rms_db": MEAN, "bands_db": [MAYBE],
    },
    "only_a": [PLACE], "only_b": [PLACE], "neither": [PLACE], "remarks": [str],
}  # fmt: skip


@pytest.fixture(scope="module")
def recordings(tmp_path_factory):
    """Before; after, softer, without 9 draw and with 4 draw flat; and a folder of two takes."""
    folder = tmp_path_factory.mktemp("recordings")
    before = made(1)
    after = before.copy(2)
    after.cents["4 draw"] -= 9

    def keep(name, sound):
        soundfile.write(folder / name, sound.samples, sound.rate, subtype="PCM_24")

    keep("before.wav", before.take())
    left = [seat for seat in after.seats if seat != "9 draw"]
    keep("after.flac", after.take(left, gain_db=-4, rate=44_100))
    (folder / "takes").mkdir()
    (folder / "takes" / "read me.txt").write_text("takes of the low end")
    for number in range(2):
        keep(f"takes/{number}.wav", before.take(["6 blow", "6 draw", "7 blow", "7 draw"]))
    keep("few.wav", before.take(["6 blow", "7 blow"]))
    return folder


@pytest.fixture(scope="module")
def answer(recordings):
    return combwright(
        "compare", "before.wav", "after.flac", "--layout", "standard", "--key", "C",
        "--match-levels", "--picture", "compared.svg", "--json", cwd=recordings,
    )  # fmt: skip


def test_what_differs_is_in_the_document_and_the_rest_is_the_same(answer):
    document = answer.document
    check_shape(document, COMPARE)
    assert (document["a"], document["b"]) == (["before.wav"], ["after.flac"])
    assert document["level_difference_db"] == pytest.approx(-4, abs=0.2)
    assert document["margins"] == {"level_db": 1.5, "cents": 3.0, "confidence": 0.95}
    (odd,) = (note for note in document["notes"] if note["verdict"] == "different")
    assert (odd["hole"], odd["breath"], odd["note"]) == (4, "draw", "D5")
    assert odd["pitch"]["difference_cents"] == pytest.approx(-9, abs=1)
    assert odd["pitch"]["low_cents"] < odd["pitch"]["difference_cents"] < odd["pitch"]["high_cents"]
    assert document["same"] >= 17
    assert document["same"] + document["different"] + document["cannot_tell"] == 19
    assert document["only_a"] == [{"hole": 9, "deck": "lower", "breath": "draw"}]
    for note in document["notes"]:
        assert note["bands"]["rms_db"] < 0.5
        assert len(note["bands"]["a_db"]) == len(document["bands_hz"]) == 20


def test_what_was_done_about_rates_and_levels_is_said(answer):
    assert "all is compared at 44,100 samples a second" in answer.err
    assert answer.document["rate"] == 44_100
    level, once, missing = answer.document["remarks"]
    assert level.startswith("B is 4.") or level.startswith("B is 3.9")
    assert level.endswith("quieter on the whole: that is taken out of every level.")
    assert once.startswith("19 of 19 notes were played once only")
    assert missing == "Heard in A only: 9 draw."


def test_the_picture_stands_beside_the_answer(answer, recordings):
    assert answer.code == 0
    root = ET.parse(recordings / "compared.svg").getroot()
    assert root[0].text.startswith("The same within 1.5 dB and 3 cents at 95 %")


def test_folders_of_takes_give_repeats_and_words_put_the_verdict_first(recordings):
    answer = combwright("compare", "takes", "takes", cwd=recordings)
    lines = answer.out.splitlines()
    assert lines[0] == (
        "The same within 1.5 dB and 3 cents at 95 %: 4 of 4 notes (0 different, 0 cannot tell)."
    )
    assert "--match-levels takes it out" in lines[1]
    assert not any("once only" in line for line in lines)
    assert "takes: 1 other file is left out." in answer.err
    assert [line.split()[:3] for line in lines[-4:]] == [
        ["6", "blow", "G5"], ["6", "draw", "A5"], ["7", "blow", "C6"], ["7", "draw", "B5"],
    ]  # fmt: skip


def test_narrower_margins_tell_less(recordings):
    narrow = combwright(
        "compare", "takes", "takes/0.wav", "--level-margin", "0.01", "--cents-margin", "0.01",
        "--json", cwd=recordings,
    ).document  # fmt: skip
    assert narrow["margins"]["level_db"] == narrow["margins"]["cents"] == 0.01
    assert narrow["same"] == 0
    assert narrow["notes"][0]["repeats"] == {"a": 2, "b": 1}
    assert {note["scatter"] for note in narrow["notes"]} == {"notes"}


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["before.wav", "nothing.wav"], "There is no file or folder nothing.wav"),
        (["before.wav", "empty"], "The folder empty holds no WAV or FLAC file"),
        (["before.wav", "words.wav"], "words.wav is no recording"),
        (["few.wav", "high.wav"], "No note of this layout is heard in B"),
        (["before.wav", "before.wav", "--cents-margin", "0"], "cents margin must be above 0"),
        (["before.wav", "before.wav", "--level-margin", "some"], "'some' is no number"),
        (["before.wav", "before.wav", "--picture", "a.png"], "name it so: a.png.svg"),
        (["before.wav", "before.wav", "--picture", "no/a.svg"], "There is no folder 'no'"),
        (["few.wav", "few.wav", "--match-levels"], "Levels are matched over 3 notes and more"),
    ],
)
def test_what_cannot_be_compared_is_refused_in_one_line(recordings, arguments, line):
    (recordings / "empty").mkdir(exist_ok=True)
    (recordings / "words.wav").write_text("no sound")
    t = np.arange(48_000) / 48_000
    soundfile.write(recordings / "high.wav", 0.1 * np.sin(2 * np.pi * 3500 * t), 48_000)
    assert line in combwright("compare", *arguments, cwd=recordings).error
    assert not (recordings / "a.png").exists()
