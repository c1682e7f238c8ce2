"""What people here call a layout: words added and removed."""

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from combwright.shop.designs.models import title_key
from combwright.shop.designs.queries import layout as known_layout
from combwright.shop.designs.queries import tidy_code
from combwright.shop.orders.actions import NotSo
from combwright.shop.orders.models import Nickname
from combwright.shop.people import journal
from combwright.shop.people.models import Person


@transaction.atomic
def add_nickname(person: Person, word: str, layout: str) -> Nickname:
    """Let a word mean a layout too.

    Raises
    ------
    NotSo
        If it means that layout already.
    NoSuchDesign
        If there is no such layout.
    """
    known_layout(layout)
    code, said = tidy_code(layout), " ".join(word.split())
    same = [each.word for each in Nickname.objects.filter(layout=code)]
    if title_key(said) in {title_key(each) for each in same}:
        raise NotSo(_("%(word)s means %(layout)s already.") % {"word": said, "layout": code})
    try:
        with transaction.atomic():
            made = Nickname.objects.create(word=said, layout=code)
    except IntegrityError as error:
        raise NotSo(_("Somebody has just added that nickname.")) from error
    facts = {"word": said, "layout": code, "by": person.name}
    journal.write("nickname_added", facts, room="orders")
    return made


@transaction.atomic
def remove_nickname(person: Person, nickname: Nickname) -> None:
    """Let a word not mean a layout any more; orders keep the layout they name."""
    facts = {"word": nickname.word, "layout": nickname.layout, "by": person.name}
    nickname.delete()
    journal.write("nickname_removed", facts, room="orders")
