"""Files cut short, changed byte by byte, or made to harm: a line for each, and nothing worse."""

import random

import mido
import pytest

from combwright.tunes import opening
from combwright.tunes.opening import read_tune_bytes, read_tunes
from tunes.files import ABC, CONTAINER, midi_bytes, note, on, score, zipped

#: ABC with most of what ABC has.
RICH = """%abc-2.1
L:1/8

X:1
T:Señora
P:AB
M:6/8
V:1 clef=treble-8
K:Gm ^f
P:A
|: (3abc {g}A>B [CE-G]2 "Am"~d | ^c- | c z Z2 |1 +CE+ :|2 (5:4:6 F/G//[K:D]A3/2 & C D |]
w: la la
P:B
[V:2] A B
[V:1] !trill!d y2 e'' f,, :: _B __B ^^c =d `x X \\
 A<B >>C | D.S. |]

X:2
K:C
C
""".encode()
TIE = '<tie type="start"/>'
REPEAT = (
    '<barline><ending number="1" type="start"/><repeat direction="backward" times="2"/></barline>'
)
SCORE = score(note("C", more=TIE) + note("C") + REPEAT, note("D"))
SIGNS = [
    mido.MetaMessage("time_signature", numerator=6, denominator=8),
    mido.MetaMessage("key_signature", key="Gm"),
    mido.MetaMessage("set_tempo", tempo=500_000),
]
MIDI = midi_bytes([*SIGNS, on(60), on(60, 240, velocity=0)], [on(62), on(62, 9, velocity=0)])
MXL = zipped(META_INF_in_container_dot_xml=CONTAINER, s_dot_xml=SCORE)
SEEDS = {
    "abc": RICH,
    "xml": SCORE,
    "mid": MIDI,
    "mxl": MXL,
    "zip": zipped(a_dot_abc=RICH, b_dot_mid=MIDI, c_dot_xml=SCORE, d_dot_mxl=MXL),
}


def lines_are_clear(reading, name):
    for line in reading.faults:
        assert line.startswith(name)
        assert len(line) < 500
        assert "\n" not in line
    return True


@pytest.mark.parametrize("kind", SEEDS)
def test_a_file_cut_anywhere_is_tunes_or_a_clear_line(kind):
    data = SEEDS[kind]
    for length in range(0, len(data), max(1, len(data) // 150)):
        reading = read_tune_bytes(data[:length], f"cut.{kind}")
        assert reading.tunes or reading.faults
        assert lines_are_clear(reading, f"cut.{kind}")


@pytest.mark.parametrize("kind", SEEDS)
def test_a_file_with_bytes_changed_is_tunes_or_a_clear_line(kind):
    dice = random.Random(6)
    for _ in range(150):
        data = bytearray(SEEDS[kind])
        for _ in range(dice.choice([1, 1, 2, 8])):
            data[dice.randrange(len(data))] = dice.randrange(256)
        assert lines_are_clear(read_tune_bytes(bytes(data), f"bad.{kind}"), f"bad.{kind}")


def test_what_a_cut_leaves_whole_is_read_as_before():
    whole = read_tune_bytes(RICH + b"\nX:3\nK:C\nC D E\n", "t.abc").tunes
    cut = read_tune_bytes(RICH + b"\nX:3\nK:C\nC D", "t.abc").tunes
    assert cut[:2] == whole[:2]
    assert len(cut) == 3


def test_a_zipped_folder_within_one_is_said_and_not_opened():
    inner = zipped(x_dot_abc=ABC)
    reading = read_tune_bytes(zipped(a_dot_abc=ABC, more_dot_zip=inner, b_dot_abc=inner), "t.zip")
    assert [tune.title for tune in reading.tunes] == ["Sound"]
    words = "a zipped folder within a zipped folder is not opened; unpack it first."
    assert reading.faults == (f"t.zip/more.zip: {words}", f"t.zip/b.abc: {words}")


def test_what_is_unpacked_is_counted_over_all_that_is_in_a_folder(monkeypatch):
    monkeypatch.setattr(opening, "MOST_MIB", 1)
    big = zipped(META_INF_in_container_dot_xml=CONTAINER, s_dot_xml=SCORE + b" " * 600_000)
    reading = read_tune_bytes(zipped(a_dot_mxl=big, b_dot_mxl=big, c_dot_mxl=big), "t.zip")
    assert len(reading.tunes) == 1
    assert reading.faults == tuple(
        f"t.zip/{name}.mxl: with what is unpacked already it has more than 1 MiB." for name in "bc"
    )


def test_of_too_many_files_the_first_are_read_and_that_is_said(monkeypatch, tmp_path):
    monkeypatch.setattr(opening, "_MOST_FILES", 2)
    for name in "abc":
        (tmp_path / f"{name}.abc").write_bytes(ABC)
    for reading in (
        read_tunes([tmp_path]),
        read_tune_bytes(zipped(a_dot_abc=ABC, b_dot_abc=ABC, c_dot_abc=ABC), "t.zip"),
    ):
        assert len(reading.tunes) == 2
        assert reading.faults[0].endswith(": it holds 3 files; only the first 2 are read.")


def test_a_folder_is_searched_to_its_depths_zipped_folders_too(tmp_path):
    (tmp_path / "deep" / "deeper").mkdir(parents=True)
    (tmp_path / "deep" / "deeper" / "x.ABC").write_bytes(ABC)
    (tmp_path / "deep" / "y.zip").write_bytes(zipped(z_dot_abc=ABC))
    (tmp_path / "notes.txt").write_text("hello")
    assert len(read_tunes([tmp_path]).tunes) == 2


def test_a_folder_or_file_of_any_name_keeps_its_line_one_line(tmp_path):
    (tmp_path / "no\nmusic").mkdir()
    (tmp_path / "ab\tc\n.abc").write_bytes(b"X:1\nK:C\n")
    for path in tmp_path.iterdir():
        (line,) = read_tunes([path]).faults
        assert "\n" not in line


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_wide_letters_without_a_mark_are_read_too(encoding):
    (tune,) = read_tune_bytes(ABC.decode().encode(encoding), "t.abc").tunes
    assert tune.title == "Sound"


def test_midi_with_a_metre_or_key_that_cannot_be_is_read_or_a_line():
    metre = mido.MetaMessage("time_signature", numerator=1, denominator=2**30)
    assert read_tune_bytes(midi_bytes([metre, on(60), on(60, 9, velocity=0)]), "t.mid").tunes
    data = MIDI.replace(b"\xff\x59\x02\xfe\x01", b"\xff\x59\x02\xfe\x09")
    assert data != MIDI
    (line,) = read_tune_bytes(data, "t.mid").faults
    assert line == (
        "t.mid: it is no sound MIDI file: Could not decode key with 2 flats and mode 9."
    )


def test_midi_too_large_for_a_tune_is_refused_before_it_is_parsed():
    (line,) = read_tune_bytes(MIDI + bytes(2 * 2**20), "t.mid").faults
    assert line == "t.mid: it has more than 2 MiB; a tune has far less."


def test_a_score_that_is_a_bomb_is_refused_in_a_compressed_file_too():
    bomb = b'<!DOCTYPE s [<!ENTITY a "aaaa">]><score-partwise>&a;</score-partwise>'
    (line,) = read_tune_bytes(
        zipped(META_INF_in_container_dot_xml=CONTAINER, s_dot_xml=bomb), "t.mxl"
    ).faults
    assert "declares entities of its own" in line


@pytest.mark.parametrize("head", ["X:1\n", "X:1\nT:Only\n", "X:1\nT:Only\nM:none\nL:1/8\nK:C\n"])
def test_abc_with_a_header_alone_is_a_line(head):
    (line,) = read_tune_bytes(head.encode(), "t.abc").faults
    assert line.startswith("t.abc, row 1")
    assert "no notes" in line or "no K: line" in line
