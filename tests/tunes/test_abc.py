"""ABC: what the standard 2.1 [abc] says of keys, lengths, repeats, and what we chose."""

import pytest

from combwright.tunes.abc_tunes import read_abc
from combwright.tunes.tune import WHOLE

HEAD = "X:1\nT:A tune\nM:4/4\nL:1/8\nK:{key}\n"


def tune(music, key="C"):
    reading = read_abc(HEAD.format(key=key) + music + "\n", "t.abc")
    assert reading.faults == ()
    (found,) = reading.tunes
    return found


def pitches(music, key="C"):
    return list(tune(music, key).pitches)


def eighths(music, key="C"):
    return [note.length * 8 / WHOLE for note in tune(music, key).notes]


def test_letters_commas_and_apostrophes_name_the_octave():
    assert pitches("C, C c c' c''") == [48, 60, 72, 84, 96]


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("C", [60, 62, 64, 65, 67, 69, 71]),
        ("D", [61, 62, 64, 66, 67, 69, 71]),
        ("Ador", [60, 62, 64, 66, 67, 69, 71]),
        ("D mix", [60, 62, 64, 66, 67, 69, 71]),
        ("Bb", [60, 62, 63, 65, 67, 69, 70]),
        ("F#m", [61, 62, 64, 66, 68, 69, 71]),
        ("E Phr ^f", [60, 62, 64, 66, 67, 69, 71]),
        ("D exp _b ^f", [60, 62, 64, 66, 67, 69, 70]),
        ("HP", [61, 62, 64, 66, 67, 69, 71]),
        ("Hp", [61, 62, 64, 66, 67, 69, 71]),
        ("none", [60, 62, 64, 65, 67, 69, 71]),
        ("G clef=bass octave=-1", [48, 50, 52, 54, 55, 57, 59]),
        ("Cb", [59, 61, 63, 64, 66, 68, 70]),
    ],
)
def test_keys_and_modes_give_their_signatures(key, expected):
    assert pitches("CDEFGAB", key) == expected


def test_an_accidental_holds_in_all_octaves_to_the_end_of_the_bar():
    assert pitches("^F f F | F") == [66, 78, 66, 65]
    assert pitches("^F =F F | _B B, ", "G") == [66, 65, 65, 70, 58]


def test_a_file_can_say_that_accidentals_hold_for_one_octave_only_or_not_at_all():
    assert pitches("^F f F") == [66, 78, 66]
    for carry, expected in (("octave", [66, 77, 66]), ("not", [66, 77, 65])):
        reading = read_abc(f"X:1\n%%propagate-accidentals {carry}\nK:C\n^F f F\n", "t.abc")
        assert list(reading.tunes[0].pitches) == expected


def test_lengths_broken_rhythm_and_tuplets():
    assert eighths("C2 C/ C// C3/2 C/4") == [2, 0.5, 0.25, 1.5, 0.25]
    assert eighths("C>D C<D C>>D") == [1.5, 0.5, 0.5, 1.5, 1.75, 0.25]
    assert eighths("(3CDE F") == pytest.approx([2 / 3, 2 / 3, 2 / 3, 1])
    assert eighths("(2CD (4CDEF (5:4:5CDEFG") == pytest.approx([1.5] * 2 + [0.75] * 4 + [0.8] * 5)


def test_the_unit_length_follows_the_metre_where_none_is_given():
    for metre, wanted in (("2/4", 16), ("3/4", 8), ("6/8", 8), ("C", 8)):
        reading = read_abc(f"X:1\nM:{metre}\nK:C\nC\n", "t.abc")
        assert reading.tunes[0].notes[0].length == WHOLE // wanted


def test_a_tied_note_is_one_note_also_over_a_bar_and_a_slurred_one_is_two():
    assert pitches("C- | C (D D)") == [60, 62, 62]
    assert eighths("C2- | C2 D") == [4, 1]


def test_graces_decorations_words_and_chord_names_are_left_out():
    assert pitches('"Am"A {cde}B !trill!c ~d .e Tf | "^text"g') == [69, 71, 72, 74, 76, 77, 79]


def test_of_a_chord_the_top_note_is_played_and_of_an_overlay_the_first():
    assert pitches("[CEG]2 [gc] | C D & E F | G") == [67, 79, 60, 62, 67]
    assert eighths("[C2E2G2] [CE]3/2") == [2, 1.5]


@pytest.mark.parametrize(
    ("music", "letters"),
    [
        ("|: A B :| C |", "ABABC"),
        ("A B :| C D :| E |]", "ABABCDCDE"),
        ("A B || C D :| E |]", "ABCDCDE"),
        ("|: A |1 B :|2 C || D :|", "ABACDD"),
        ("|: A [1 B :| [2 C :| D |", "ABACD"),
        ("|: A |1,3 B :|2 C :| D |", "ABACABD"),
        ("|: A :: B :| C", "AABBC"),
        ("|: A :|: B :|", "AABB"),
        ("|:: A ::| B |", "AAAB"),
        ("|: A |1 B |2 C :| D |", "ABACD"),
        ("|: A || B :| C", "ABABC"),
    ],
)
def test_repeats_and_endings_are_played_out(music, letters):
    names = {57 + 12: "A", 71: "B", 60: "C", 62: "D", 64: "E"}
    assert "".join(names[p] for p in pitches(music)) == letters


def test_parts_are_played_in_the_order_of_the_p_line():
    text = "X:1\nP:A(AB)2\nK:C\nP:A\nC D |\nP:B\nE F :|\n"
    reading = read_abc(text, "t.abc")
    assert list(reading.tunes[0].pitches) == [60, 62] * 2 + [64, 65] * 2 + [60, 62] + [64, 65] * 2


def test_fields_within_the_music_change_key_length_and_metre():
    assert pitches("F [K:D] F |[K:Gm] B") == [65, 66, 70]
    assert eighths("C [L:1/4] C [M:3/4] C") == [1, 2, 2]


def test_the_first_voice_is_read_and_the_others_are_remarked():
    found = tune("V:1\nC D\nV:2\nE F\nV:1\nG")
    assert list(found.pitches) == [60, 62, 67]
    assert found.remarks == ("only the first voice is read, not '2'",)


def test_a_letter_that_is_no_music_is_left_out_and_remarked_once():
    found = tune("C # D # E")
    assert list(found.pitches) == [60, 62, 64]
    assert found.remarks == ("row 6: '#' is no music and was left out",)


def test_a_tune_without_notes_is_a_line_and_the_others_are_read():
    text = "X:1\nT:Empty\nK:C\nz4 |\n\nX:2\nT:No key\nC D\n\nX:3\nT:Sound\nK:C\nC\n"
    reading = read_abc(text, "book.abc")
    assert [each.title for each in reading.tunes] == ["Sound"]
    assert reading.faults == (
        "book.abc, row 1, 'Empty': it has no notes.",
        "book.abc, row 6, 'No key': it has no K: line, so its music never begins.",
    )


def test_a_text_without_tunes_says_so():
    assert read_abc("Dear maker,\n", "a.txt").faults == (
        "a.txt: no tune begins here; in ABC each begins with a line X: and a number.",
    )


def test_ten_megabytes_on_one_line_are_refused_and_the_next_tune_is_read():
    reading = read_abc(f"X:1\nT:Long\nK:C\n{'C' * 10 * 2**20}\n\nX:2\nT:Sound\nK:C\nC\n", "t.abc")
    assert [each.title for each in reading.tunes] == ["Sound"]
    assert reading.faults == (
        "t.abc, row 1, 'Long': it has more than 300,000 letters; part it into tunes.",
    )


@pytest.mark.parametrize("mark", ["C", "{", "[", '"', "[K:", "|:", "-", "P:A"])
def test_the_longest_line_of_one_sign_is_read_or_refused_in_no_more_than_its_length(mark):
    line = mark * (299_000 // len(mark))
    reading = read_abc(f"X:1\nT:Long\nK:C\nC {line}\n\nX:2\nT:Sound\nK:C\nC\n", "t.abc")
    assert reading.tunes[-1].title == "Sound"


def test_a_tune_that_goes_round_and_round_is_refused():
    repeats = "|: " + "C" * 900 + " |" + ",".join(str(n) for n in range(1, 40)) + " D :|"
    (fault,) = read_abc(HEAD.format(key="C") + repeats, "t.abc").faults
    assert fault.startswith("t.abc, row 1, 'A tune': unfolds to more than 20,000 notes")
