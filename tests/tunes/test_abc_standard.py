"""ABC in all its corners, each by the section of the standard 2.1 [abc] that says how it sounds."""

import random

import pytest

from combwright.tunes.abc_tunes import read_abc
from combwright.tunes.tune import WHOLE


def tune(music, head="M:4/4\nL:1/8\nK:C", before=""):
    reading = read_abc(f"{before}X:1\nT:A tune\n{head}\n{music}\n", "t.abc")
    assert reading.faults == ()
    (found,) = reading.tunes
    return found


def pitches(music, head="M:4/4\nL:1/8\nK:C", before=""):
    return list(tune(music, head, before).pitches)


def letters(music, head="M:4/4\nL:1/8\nK:C", before=""):
    names = dict(zip([60, 62, 64, 65, 67, 69, 71, 72], "CDEFGABc", strict=True))
    return "".join(names[each] for each in pitches(music, head, before))


def starts(music, head="M:4/4\nL:1/8\nK:C"):
    return [note.start * 8 / WHOLE for note in tune(music, head).notes]


def eighths(music, head="M:4/4\nL:1/8\nK:C"):
    return [note.length * 8 / WHOLE for note in tune(music, head).notes]


# 2.2: files, headers, text between tunes


def test_the_head_of_a_file_ends_with_its_first_empty_line():
    head = "%abc-2.1\nL:1/4\n%%propagate-accidentals not\n\nL:1/16 is what I like\n\n"
    found = tune("^C C", head="M:4/4\nK:C", before=head)
    assert list(found.pitches) == [61, 60]
    assert [note.length * 8 / WHOLE for note in found.notes] == [2, 2]


def test_a_comment_with_spaces_before_it_is_no_empty_line_and_ends_no_tune():
    assert letters("C D % E\n  % nothing\n%E\nF") == "CDF"


def test_a_remark_in_the_middle_of_a_line_is_passed_over():
    assert letters("C [r:and this is a remark] D [N:notes] E") == "CDE"


def test_text_to_be_printed_is_no_music():
    assert (
        letters("C\n%%begintext\nA CABBAGE\n%%endtext\nD\n%%beginsvg\n<g/>\n%%endsvg\nE") == "CDE"
    )


def test_lines_are_joined_by_a_backslash_through_fields_and_comments():
    assert eighths("(3CD\\ % on\n%%setbarnb 10\nM:3/4\n%a comment\nE F") == pytest.approx(
        [2 / 3, 2 / 3, 2 / 3, 1]
    )


def test_a_field_goes_on_with_a_plus():
    assert letters("C D\nw: ly-rics\n+: A BAD CABBAGE\nE") == "CDE"


# 3: fields


def test_a_metre_in_the_music_does_not_change_the_unit_length():
    assert eighths("C\nM:4/4\nC [M:2/2] C", head="M:2/4\nK:C") == [0.5, 0.5, 0.5]


def test_a_note_before_a_bar_is_music_though_it_looks_like_a_field():
    assert letters("|: C D | E2\nF:|\nz:|") == "CDEFCDEF"


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("D =c", [60, 66]),
        ("D maj =c", [60, 66]),
        ("Dmaj=c", [60, 66]),
        ("Dphr=e^f m=d", [60, 66]),
        ("^f", [60, 66]),
        ("HP", [61, 66]),
        ("none", [60, 65]),
        ("", [60, 65]),
        ("G % two flats", [60, 66]),
        ("C treble-8", [48, 53]),
        ("Cmaj clef=treble+8", [72, 77]),
        ("Am transpose=-2", [58, 63]),
        ("C t=-2", [58, 63]),
        ("C octave=1 bass", [72, 77]),
    ],
)
def test_keys_with_accidentals_clefs_and_transposition(key, expected):
    assert pitches("C F", head=f"L:1/8\nK:{key}") == expected


def test_a_key_in_the_music_that_names_a_clef_keeps_the_sharps_and_an_empty_one_does_not():
    assert pitches("F [K:clef=alto] F [K:] F", head="L:1/8\nK:D") == [66, 66, 65]


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("L:1/8\nK:Bn", "row 4: the key 'Bn' is not known; read as A#, C#, D#, F#, G#"),
        ("L:1/8\nK:H", "row 4: the key 'H' is not known; read as without sharps and flats"),
        ("L:quaver\nK:C", "row 3: the unit length 'quaver' is not known; 1/8 would be right"),
        ("M:waltz\nK:C", "row 3: the metre 'waltz' is not known"),
        ("m:~G2 = {A}G{F}G\nK:C", "row 3: macros are not played out"),
    ],
)
def test_what_a_field_says_that_is_not_known_is_remarked(head, words):
    assert tune("C", head=head).remarks == (words,)


def test_parts_without_an_order_are_played_as_they_stand():
    assert letters("P:A\nC\nP:B\nD\nP:A\nE") == "CDE"
    assert letters("P:A\nC\nP:B\nD\n", head="P:B.A2\nL:1/8\nK:C") == "DCC"
    found = tune("P:A\nC\nP:B\nD\n", head="P:AA\nL:1/8\nK:C")
    assert found.remarks == ("part B is not in the P: line and not heard",)


def test_instructions_may_stand_in_fields_and_within_the_music():
    assert pitches("^C C", head="I:propagate-accidentals not\nL:1/8\nK:C") == [61, 60]
    assert pitches("[I:propagate-accidentals not]^C C") == [61, 60]


# 4: the music


def test_a_tied_note_keeps_its_accidental_over_the_bar_and_the_next_one_does_not():
    assert pitches("^c2-|c2 c2") == [73, 72]
    assert pitches("^c-|d c") == [73, 74, 72]


def test_accidentals_may_be_doubled_and_taken_back():
    assert pitches("__B ^^F B =B B | B", head="L:1/8\nK:Gb") == [69, 67, 69, 71, 71, 70]


def test_rests_of_bars_are_as_long_as_the_metre_says():
    assert starts("C Z D", head="M:3/4\nL:1/8\nK:C") == [0, 7]
    assert starts("C X2 D", head="M:2+3/8\nL:1/8\nK:C") == [0, 11]
    assert starts("C Z D", head="M:(2+3)/8\nL:1/8\nK:C") == [0, 6]
    assert starts("C Z D", head="M:none\nL:1/8\nK:C") == [0, 9]


def test_tuplets_of_every_form():
    assert eighths("(3:2:4C2D2EF G") == pytest.approx([4 / 3, 4 / 3, 2 / 3, 2 / 3, 1])
    assert eighths("(3::2 CD E") == pytest.approx([2 / 3, 2 / 3, 1])
    assert eighths("(5CDEFG A", head="M:6/8\nL:1/8\nK:C") == pytest.approx([0.6] * 5 + [1])
    assert eighths("(9CDEFGABcd A") == pytest.approx([2 / 9] * 9 + [1])
    assert eighths("(3:2:12" + "C" * 12 + "D") == pytest.approx([2 / 3] * 12 + [1])


def test_a_tuplet_within_a_tuplet_ends_it_and_is_remarked():
    found = tune("(3C(3DEF G")
    assert found.remarks == ("row 6: a tuplet begins within another, which ends there",)
    assert [n.length * 8 / WHOLE for n in found.notes] == pytest.approx([2 / 3] * 4 + [1])


def test_grace_notes_do_not_disturb_broken_rhythm():
    assert eighths("A<{g}A A{g}<A B") == [0.5, 1.5, 0.5, 1.5, 1]
    assert eighths("[CE]>[DF] C>>>D") == [1.5, 0.5, 1.875, 0.125]


def test_a_rest_in_a_chord_sounds_nothing_but_counts_where_it_comes_first():
    assert starts("[C2z2] D [z2E] F [z] G") == [0, 2, 3, 5, 7]


def test_a_chord_that_is_never_closed_loses_no_note():
    found = tune('C | ["Coda" E3G | A')
    assert list(found.pitches) == [60, 64, 67, 69]
    assert found.remarks == ("row 6: a chord is never closed; its notes are read in order",)
    assert letters("C [EG") == "CEG"


def test_a_chord_may_be_broken_by_the_end_of_a_line():
    assert pitches("[A\nf] [F2d\n2] A\n2 B") == [77, 74, 69, 71]


@pytest.mark.parametrize(
    ("music", "played"),
    [
        ("A |:B [|] C :|", "ABCBC"),
        ("A :| B |[| C :|", "AABCC"),
        ("A .| B [|::: C :::|", "ABCCCC"),
        ("|: A || B ||1 C :|2 D |]", "ABCABD"),
        ("A || B C |1 D :|2 E |]", "ABCDBCE"),
        ("|: C |1,3 D :|2 E :|4 F |] G", "CDCECDCFG"),
        ("|: C |1-2 D :|3 E |] F", "CDCDCEF"),
        ("|: C | [1 D :| [2 E || F", "CDCEF"),
        ("|: C :||: D :|", "CCDD"),
        ("C : | D", "CCD"),
        ("A B |\n: C D :| E", "ABCDCDE"),
        ("|: A |1 B :|\n2 C | D", "ABACD"),
        ("|: A ]| B :|]", "ABAB"),
        ("|: A :|2 B | C", "AABC"),
        ("A [2 B :| C", "ABABC"),
        ("|: A |1 B :| C | D :| E", "ABACDCDE"),
    ],
)
def test_bars_of_any_shape_repeat_what_they_say(music, played):
    assert letters(music) == played


def test_notes_in_an_ending_that_is_never_reached_are_remarked():
    found = tune("|: A |1 B :|3 c d | e :| f")
    assert found.remarks == ("3 notes stand in endings that no repeat reaches and are not heard",)


def test_whatever_the_bars_every_note_is_heard_or_remarked():
    bars = ["|", "|:", ":|", "::", "||", "|]", "|1", ":|2", "[1", "[2", ":|3", "|1,3", "::|"]
    dice = random.Random(20)
    for _ in range(300):
        notes = "CDEFGABc"[: dice.randint(2, 8)]
        found = tune(" ".join(f"{note} {dice.choice(bars)}" for note in notes))
        unheard = {60, 62, 64, 65, 67, 69, 71, 72} - set(found.pitches)
        assert len(unheard) == 8 - len(notes) + sum(int(r.split()[0]) for r in found.remarks)


# 4.14, 4.16, 10, 12: decorations and the dialects of older files


def test_decorations_are_left_out_whatever_letters_they_use():
    assert letters("!trill!C !<(!D !<)!~.HLMOPSTuvE !5!F !+!G !fermat:a!A") == "CDEFGA"
    assert letters("KC pD", head='U:K = !trill!\nU: p = "^+"\nL:1/8\nK:C') == "CD"


def test_signs_of_jumps_are_remarked_and_not_followed():
    assert tune("C !fine! D !D.C.! |]").remarks == (
        "jumps (da capo, dal segno, coda) are not followed",
    )


def test_exclamation_marks_that_break_lines_swallow_no_music():
    assert letters("C D|!E F| G! A B|") == "CDEFGAB"
    assert letters("C!D!E", head="I:linebreak !\nL:1/8\nK:C") == "CDE"


def test_plus_signs_close_chords_of_early_files_or_decorations():
    assert pitches("+CE+G+C2E2+ +fermata+A +5+B") == [64, 67, 64, 69, 71]
    assert pitches("+D+C", head="I:decoration +\nL:1/8\nK:C") == [60]


def test_spacers_and_reserved_signs_change_nothing():
    found = tune('@C !pp! #DE2/3* [K:C#] de?f "@this $2was difficult to parse?" y4 |**')
    plain = tune("C DE2/3 [K:C#] def |")
    assert found.notes == plain.notes


def test_words_and_graces_that_never_end_are_left_out_to_the_end_of_the_line():
    found = tune('C "Am D E\nF {g A\nB')
    assert list(found.pitches) == [60, 65, 71]
    assert found.remarks == ('row 6: what follows " is never closed and was left out',)


# 7: voices


def test_the_first_voice_is_not_disturbed_by_what_the_others_do():
    music = "V:1\nF ^G\nV:2\n(3EEE (3E [K:D] [M:3/4] [L:1/2] [CE\nV:1\nFGF"
    assert pitches(music) == [65, 68, 65, 68, 65]
    assert eighths(music) == [1] * 5


def test_a_voice_is_moved_as_its_own_field_says():
    head = "V:1 clef=treble-8\nV:2 octave=1\nL:1/8\nK:C"
    assert pitches("C D", head=head) == [48, 50]
    assert pitches("[V:2] C D\n[V:1] E", head=head) == [72, 74]
    assert pitches("V:1 clef=treble\nC\nV:2\nD\nV:1\nE", head=head) == [60, 64]


def test_overlays_last_as_many_bars_as_they_have_signs():
    assert letters("A2 | c G & A A & F E | B") == "AcGB"
    assert letters("C D | E F |\n&& A B | A B | G") == "CDEFG"
