"""The demo's tunes: what a club plays, what one player does, and a file that waits for a look."""

from typing import Final

from combwright.demo.scenario import shop_text
from combwright.shop.orders.models import Customer
from combwright.shop.people.models import Person
from combwright.shop.repertoire import actions, book_actions, intake_actions, queries
from combwright.shop.repertoire.books import pages_of
from combwright.shop.repertoire.models import Repertoire
from combwright.shop.repertoire.tab_forms import Asked

_CLUB, _PLAYER = "Fernhollow Folk Club", "Osk Windlebrae"
#: Of the club's tunes, those that the player has to himself too.
_HIS: Final = ("Nine Bells Waltz", "Late Ferry Home", "Slow Bend by the Forge")
#: One that the club has under another name, a new one, and one whose music is lost.
_WAITING: Final = """\
X:1
T:The Kettle Again
M:4/4
L:1/8
K:Ador
A3B c2BA|G2E2 D2E2|A3B c2d2|e2d2 e4|
g2fe d2cB|A2G2 E2D2|c2BA G2E2|A4 A4|]

X:2
T:Fernhollow Gate, Closed
M:6/8
L:1/8
K:G
|:D|G2A BcB|A2F DEF|G2B dcB|A3 D2D|
G2A BcB|c2A FGA|B2G AFD|G3 G2:|

X:3
T:The Torn Page
M:4/4
K:D
"""


def load_tunes(person: Person) -> None:
    """Load the club's tunes as anybody would, make a book, and leave some to be looked at."""
    club = _begin(person, "Fernhollow sessions", _CLUB, "Thursdays, by the fire.")
    book = intake_actions.keep(person, club, [("tunes.abc", shop_text("tunes.abc").encode())])
    intake_actions.take_in(person, book.pk)
    his = _begin(person, "Osk alone", _PLAYER, "")
    tunes = [tune for tune in queries.tunes_of(club) if tune.title in _HIS]
    actions.add_tunes(his, person, tunes)
    made = book_actions.order(person, his, Asked(key="A"), by_worker=False)
    book_actions.keep(made, pages_of(made, lambda _done, _all, _words: None))
    intake_actions.keep(person, club, [("more-tunes.abc", _WAITING.encode())])


def _begin(person: Person, name: str, customer: str, about: str) -> Repertoire:
    known = Customer.objects.filter(name=customer).first()
    return actions.make(person, {"name": name, "customer": known, "about": about})
