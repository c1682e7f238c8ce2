"""The layouts these tests speak of, spelled out, and a strategy for any layout at all."""

from dataclasses import replace

from hypothesis import strategies as st

from combwright.comb.layouts import Layout, from_lists
from combwright.comb.seats import BREATHS, DECKS, Seat
from combwright.notes.names import parse_midi


def notes(text):
    return [parse_midi(name) for name in text.split()]


STANDARD = from_lists(
    "standard",
    notes("C4 E4 G4 C5 E5 G5 C6 E6 G6 C7"),
    notes("D4 G4 B4 D5 F5 A5 B5 D6 F6 A6"),
)


def changed(title, *seats, base=STANDARD):
    """Put seats in the place of what the base has there."""
    places = {(seat.hole, seat.deck): seat for seat in (*base.seats, *seats)}
    return Layout(title, tuple(places.values()), holes=base.holes)


FIFTH_DRAW_RAISED = changed("fifth draw raised", Seat(5, "lower", "draw", parse_midi("F#5")))
THIRD_BLOW_RAISED = changed("third blow raised", Seat(3, "upper", "blow", parse_midi("A4")))
BOTH_RAISED = changed(
    "both raised", Seat(3, "upper", "blow", parse_midi("A4")), base=FIFTH_DRAW_RAISED
)
THIRD_DRAW_LOWERED = changed("third draw lowered", Seat(3, "lower", "draw", parse_midi("Bb4")))
THIRD_BLOW_TURNED = changed(
    "third blow plate turned to draw", Seat(3, "upper", "draw", parse_midi("G4"))
)
KNOWN = {
    layout.title: layout
    for layout in (
        STANDARD,
        FIFTH_DRAW_RAISED,
        THIRD_BLOW_RAISED,
        THIRD_DRAW_LOWERED,
        THIRD_BLOW_TURNED,
    )
}


def moved(layout, semitones):
    seats = tuple(replace(seat, midi=seat.midi + semitones) for seat in layout.seats)
    return replace(layout, seats=seats)


@st.composite
def layouts(draw, *, most_cents=170):
    """Any reeds in any seats: empty chambers, lone and turned plates, cents of their own."""
    holes = draw(st.integers(1, 16))
    seats = draw(
        st.lists(
            st.builds(
                Seat,
                hole=st.integers(1, holes),
                deck=st.sampled_from(DECKS),
                breath=st.sampled_from(BREATHS),
                midi=st.integers(48, 90),
                cents=st.integers(-most_cents, most_cents),
            ),
            unique_by=lambda seat: (seat.hole, seat.deck),
            max_size=2 * holes,
        )
    )
    return Layout("any", tuple(seats), holes=holes)
