"""Music of every kind and in every state: one line for what is wrong, nothing lost of the rest."""

import mido
import pytest

from combwright.tunes.opening import read_tune_bytes, read_tunes
from combwright.tunes.tune import WHOLE
from tunes.files import ABC, CONTAINER, XML_HEAD, midi_bytes, note, on, score, zipped


def only(data, name="t"):
    reading = read_tune_bytes(data, name)
    assert reading.faults == ()
    (tune,) = reading.tunes
    return tune


def fault(data, name="t"):
    reading = read_tune_bytes(data, name)
    assert reading.tunes == ()
    (line,) = reading.faults
    assert len(line) < 500
    assert "\n" not in line
    return line


def test_musicxml_gives_pitches_lengths_ties_and_top_notes():
    tied = '<tie type="start"/>'
    tune = only(
        score(
            note("C") + note("E", more="<chord/>") + note("F", alter="<alter>1</alter>"),
            note("G", duration=2, more=tied) + "<note><rest/><duration>1</duration></note>",
            "<note><grace/><pitch><step>A</step><octave>4</octave></pitch></note>" + note("B"),
            "<backup><duration>1</duration></backup>" + note("C", 3, voice="2"),
        )
    )
    assert (tune.title, tune.pitches) == ("Air", (64, 66, 67, 71))
    assert [n.length * 4 / WHOLE for n in tune.notes] == [1, 1, 2, 1]
    assert tune.remarks == ("only the first voice of the first part is read",)


def test_musicxml_time_that_is_passed_over_is_a_rest():
    one = "<duration>1</duration>"
    tune = only(
        score(
            note("C") + f"<forward>{one}</forward>" + note("D"),
            "<note><rest/><duration>2</duration></note>" + note("E"),
            f"{note('F')}<backup>{one}</backup>{note('G', 3, 4, voice='2')}",
            f"<note><cue/><pitch><step>A</step><octave>4</octave></pitch>{one}</note>" + note("A"),
            note("C", 3, 2, voice="2"),
            note("B"),
        )
    )
    assert [n.start * 4 / WHOLE for n in tune.notes] == [0, 2, 5, 6, 11, 14]


def test_musicxml_a_chord_belongs_to_the_voice_it_goes_on():
    high = note("B", 5, more="<chord/>").replace("<voice>1</voice>", "")
    back = "<backup><duration>1</duration></backup>"
    tune = only(score(note("C") + back + note("E", voice="2") + high + note("G")))
    assert tune.pitches == (60, 67)


def test_musicxml_repeats_and_endings_are_played_out():
    end = '<barline><repeat direction="backward"/></barline>'
    first, second = (f'<barline><ending number="{n}" type="start"/></barline>' for n in (1, 2))
    tune = only(score(note("C"), first + note("D") + end, second + note("E"), note("F")))
    assert tune.pitches == (60, 62, 60, 64, 65)


def test_a_written_part_is_read_as_it_sounds():
    attributes = "<divisions>2</divisions><transpose><chromatic>-2</chromatic></transpose>"
    assert only(score(note("D"), attributes=attributes)).pitches == (60,)


def test_a_compressed_score_is_found_by_its_container():
    data = zipped(META_INF_in_container_dot_xml=CONTAINER, s_dot_xml=score(note("C")))
    assert only(data).pitches == (60,)


def test_midi_gives_the_top_line_of_the_first_track_that_has_notes():
    tune = only(
        midi_bytes(
            [mido.MetaMessage("track_name", name="Reel")],
            [on(36, channel=9), on(60), on(67), on(60, 480, velocity=0), on(67, velocity=0), on(62),
             on(62, 240, velocity=0)],
            [on(40, channel=1)],
        )
    )  # fmt: skip
    assert (tune.title, tune.pitches) == ("Reel", (67, 62))
    assert [n.length * 4 / WHOLE for n in tune.notes] == [1, 0.5]
    assert tune.remarks == ("only the first track and channel with notes is read",)


def test_of_midi_played_by_hand_the_notes_of_a_chord_are_begun_together():
    chord = [on(60), on(64, 4), on(67, 4)]
    ends = [on(60, 470, velocity=0), on(64, velocity=0), on(67, 2, velocity=0)]
    quick = [on(65), on(65, 3, velocity=0), on(66), on(66, 240, velocity=0)]
    tune = only(midi_bytes(chord + ends + quick))
    assert tune.pitches == (67, 65, 66)
    assert tune.notes[0].start == 0


def test_of_midi_a_note_struck_twice_at_once_is_as_long_as_it_sounds():
    twice = [on(69), on(69), on(69, 480, velocity=0), on(69, velocity=0)]
    assert [n.length * 4 / WHOLE for n in only(midi_bytes(twice)).notes] == [1]


def test_a_zipped_folder_gives_all_its_tunes_and_a_line_for_each_that_is_not_read():
    data = zipped(
        a_dot_abc=ABC, b_dot_mid=b"MThd\0\0", c_dot_xml=b"<html/>", read_dot_txt=b"hello",
        __MACOSX_in_x_dot_abc=b"\0", deep_in_d_dot_musicxml=score(note("C")),
    )  # fmt: skip
    reading = read_tune_bytes(data, "all.zip")
    assert [tune.title for tune in reading.tunes] == ["Sound", "Air"]
    assert reading.faults == (
        "all.zip/b.mid: it ends in the middle; it is cut short.",
        "all.zip/c.xml: it is XML but no MusicXML: its root is 'html'.",
    )


def test_files_and_folders_are_read_in_the_order_they_are_named(tmp_path):
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "b.abc").write_bytes(ABC)
    (tmp_path / "a.abc").write_bytes(ABC.replace(b"Sound", b"First"))
    reading = read_tunes([tmp_path / "a.abc", tmp_path / "none.abc", tmp_path / "folder"])
    assert [tune.title for tune in reading.tunes] == ["First", "Sound"]
    assert reading.faults == (f"There is no file {tmp_path / 'none.abc'}.",)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_abc_in_an_old_or_marked_encoding_keeps_its_title(encoding):
    data = "X:1\nT:Señora Müller\nK:C\nC\n".encode(encoding)
    assert only(data).title == "Señora Müller"


BOMB = (
    XML_HEAD
    + '<!DOCTYPE s [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><score-partwise>&b;</score-partwise>'
).encode()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "nothing in it"),
        (b"\x89PNG\0\0", "no ABC, MusicXML or MIDI"),
        (BOMB, "declares entities of its own"),
        (score(note("C"))[:-20], "no sound XML"),
        (score(note("H")), "'H' is no step"),
        (score(note("C", duration="1e9")), "'1e9' is no number"),
        (score(note("C", octave=99)), "out of range"),
        (score(note("C"), attributes="<divisions>0</divisions>"), "divisions '0' is out of range"),
        (score("<note><rest/><duration>1</duration></note>"), "has no notes"),
        (("<a>" * 100_000).encode(), "no sound XML"),
        (("<a>" * 100_000 + "</a>" * 100_000).encode(), "no MusicXML: its root is 'a'"),
        (("<a>" * 1_200_000).encode(), "more than 1,000,000 elements"),
        (BOMB.decode().replace("UTF-8", "UTF-16").encode("utf-16"), "entities of its own"),
        (b'<?xml version="1.0" encoding="nonsense"?><a/>', "encoding"),
        (midi_bytes([mido.MetaMessage("track_name", name="x")]), "has no notes"),
        (midi_bytes([on(60), on(60, 9, velocity=0)])[:-6], "cut short"),
        (b"MThd\0\0\0\6\0\0\0\0\xe7\x28", "film frames"),
        (b"PK\x03\x04rubbish", "damaged"),
        (zipped(read_dot_txt=b"hello"), "no music in this zipped folder"),
        (zipped(x_dot_abc=b"X:1\nK:C\n" + b"C" * (65 * 2**20)), "64 MiB"),
        (zipped(META_INF_in_container_dot_xml="<container/>"), "names no document"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_one_clear_line(data, words):
    assert words in fault(data)
