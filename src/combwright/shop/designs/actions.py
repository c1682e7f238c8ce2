"""Everything that changes a design; each action is done as a whole or not at all.

Every save writes a version; nothing is edited away. Who saves says which version they saw, and is
refused when somebody else has written one since. What changes the usual comb's fit is done only by
somebody who was shown what that changes for the rack.
"""

from django.db import IntegrityError, transaction
from django.utils.text import slugify
from django.utils.translation import gettext as _

from combwright.comb.catalogue import aliases, catalogue_layout, layout_ids
from combwright.comb.combs import Comb
from combwright.comb.default_comb import default_comb
from combwright.errors import CombwrightError
from combwright.files.combs import parse_comb
from combwright.shop.designs.models import LONGEST_CODE, Design, DesignVersion, title_key
from combwright.shop.designs.queries import SHIPPED_COMB, WORKSHOP, tidy_code
from combwright.shop.designs.texts import Said, read
from combwright.shop.designs.usual import Consequences, consequences
from combwright.shop.people.models import Person


class NotSo(CombwrightError):
    """Something that cannot be done with the designs as they are."""


class NameTaken(NotSo):
    """A title or a code that another design has; `field` says which of the two."""

    def __init__(self, text: str, *, field: str = "title") -> None:
        super().__init__(text)
        self.field = field


class ChangedMeanwhile(NotSo):
    """Somebody else has changed the design since it was looked at."""


class UsualWouldChange(NotSo):
    """The usual comb would take other plates; `what` says which, and must be agreed to."""

    def __init__(self, what: Consequences) -> None:
        super().__init__(_("This is the usual comb; say that you want it to change."))
        self.what = what


@transaction.atomic
def make(person: Person, kind: str, said: Said, *, what: str, code: str = "") -> Design:
    """Make a comb or a layout of the shop's own.

    Parameters
    ----------
    person : Person
        Who makes it.
    kind : str
        `Design.COMB` or `Design.LAYOUT`.
    said : Said
        What it is, with its title.
    what : str
        `DesignVersion.MADE` or `DesignVersion.TAKEN_IN`.
    code : str
        What orders and files call it; without one it is made of the title.

    Raises
    ------
    NameTaken
        If another design, or one of the catalogue, has its code or title.
    """
    code = tidy_code(code) or _code_of(kind, said.title)
    _check_code(kind, code)
    _check_title(kind, said.title, None)
    return _made(person, kind, code, said, what)


@transaction.atomic
def save(
    person: Person,
    design: Design,
    seen: int,
    said: Said,
    *,
    what: str = DesignVersion.EDITED,
    earlier: int | None = None,
    agreed: str = "",
) -> Design:
    """Write a new version; one that says just what the last one says is not written.

    Parameters
    ----------
    person : Person
        Who saves it.
    design : Design
        Whose version it is.
    seen : int
        The version that the person saw when they began.
    said : Said
        What it is from now on.
    what : str
        One of `DesignVersion.WHATS`.
    earlier : int or None
        The version that is brought back.
    agreed : str
        The seal of the consequences for the rack that the person was shown.

    Raises
    ------
    ChangedMeanwhile
        If there is a newer version than the one seen.
    NameTaken
        If another design has its title.
    UsualWouldChange
        If it is the usual comb, would take other plates, and that was not agreed to.
    """
    now = _locked(design, seen)
    if _says_the_same(now, said, what):
        return now
    if isinstance(said.value, Comb) and now.usual:
        _check_agreed(parse_comb(now.toml, name="comb.toml").value, said.value, agreed)
    if said.title:
        _check_title(now.kind, said.title, now)
        now.title, now.title_key = said.title, title_key(said.title)
    now.toml = said.text
    return _next(now, person, what, earlier=earlier)


@transaction.atomic
def save_workshop(person: Person, seen: int, said: Said, *, what: str) -> Design:
    """Write the workshop's numbers; `seen` is 0 while the shop has none of its own.

    Raises
    ------
    ChangedMeanwhile
        If somebody else has written them since.
    """
    there = Design.objects.filter(kind=Design.WORKSHOP, code=WORKSHOP).first()
    if there is not None:
        return save(person, there, seen, said, what=what)
    return _made(person, Design.WORKSHOP, WORKSHOP, said, what)


@transaction.atomic
def make_usual(person: Person, code: str, agreed: str) -> None:
    """Make a comb the usual one; the shipped comb's code goes back to that one.

    Raises
    ------
    NotSo
        If there is no such comb, or it is retired.
    UsualWouldChange
        If what that changes for the rack was not agreed to.
    """
    # All combs, always in one order: whoever else does this waits, and sees what came of it.
    everyone = list(Design.objects.select_for_update().filter(kind=Design.COMB).order_by("pk"))
    before = next((each for each in everyone if each.usual), None)
    after = next((each for each in everyone if each.code == code), None)
    if after is None and code != SHIPPED_COMB:
        raise NotSo(_("There is no comb %r any more.") % code)
    if after is before:
        return
    if after is not None and after.retired:
        raise NotSo(_("%s is retired; take it into use again first.") % after.title)
    _check_agreed(_comb_of(before), _comb_of(after), agreed, always=True)
    if before is not None:
        before.usual = False
        _next(before, person, DesignVersion.NO_LONGER_USUAL)
    if after is not None:
        after.usual = True
        _next(after, person, DesignVersion.USUAL)


@transaction.atomic
def retire(person: Person, design: Design) -> Design:
    """Take a design out of the lists; orders that name it still mean it.

    Raises
    ------
    NotSo
        If it is the usual comb.
    """
    now = _locked(design, None)
    if now.usual:
        raise NotSo(_("%s is the usual comb; make another one usual first.") % now.title)
    if now.retired or now.kind == Design.WORKSHOP:
        return now
    now.retired = True
    return _next(now, person, DesignVersion.RETIRED)


@transaction.atomic
def use_again(person: Person, design: Design) -> Design:
    """Take a retired design into the lists again."""
    now = _locked(design, None)
    if not now.retired:
        return now
    now.retired = False
    return _next(now, person, DesignVersion.IN_USE)


def _made(person: Person, kind: str, code: str, said: Said, what: str) -> Design:
    try:
        with transaction.atomic():
            made = Design.objects.create(
                kind=kind, code=code, title=said.title, title_key=title_key(said.title),
                toml=said.text, changed_by=person,
            )  # fmt: skip
            _write_version(made, person, what)
    except IntegrityError as error:
        if kind == Design.WORKSHOP:
            raise _changed_meanwhile() from error
        raise NameTaken(_("Somebody has just taken that name; choose another one.")) from error
    return made


def _locked(design: Design, seen: int | None) -> Design:
    now = Design.objects.select_for_update().get(pk=design.pk)
    if seen is not None and now.version != seen:
        raise _changed_meanwhile()
    return now


def _says_the_same(now: Design, said: Said, what: str) -> bool:
    """Tell whether there is nothing to write: a form saved as it opened keeps a file's comments."""
    if now.toml == said.text:
        return True
    return what == DesignVersion.EDITED and read(now.kind, now.toml, name="").value == said.value


def _changed_meanwhile() -> ChangedMeanwhile:
    return ChangedMeanwhile(
        _("Somebody else has changed this since you began. What you typed is still here: look at "
          "their version, then save yours over it, or leave it.")
    )  # fmt: skip


def _next(design: Design, person: Person, what: str, *, earlier: int | None = None) -> Design:
    design.version += 1
    design.changed_by = person
    try:
        with transaction.atomic():
            design.save()
            _write_version(design, person, what, earlier)
    except IntegrityError as error:
        raise NameTaken(_("Somebody has just taken that name; choose another one.")) from error
    return design


def _write_version(design: Design, person: Person, what: str, earlier: int | None = None) -> None:
    DesignVersion.objects.create(
        design=design, number=design.version, what=what, earlier=earlier,
        toml=design.toml, made_by=person,
    )  # fmt: skip


def _comb_of(design: Design | None) -> Comb:
    return default_comb() if design is None else parse_comb(design.toml, name="comb.toml").value


def _check_agreed(before: Comb, after: Comb, agreed: str, *, always: bool = False) -> None:
    found = consequences(before, after)
    if (found or always) and agreed != found.seal:
        raise UsualWouldChange(found)


def _code_of(kind: str, title: str) -> str:
    """Make a code of a title; where that is taken or empty, with a number behind it."""
    plain = slugify(title)[: LONGEST_CODE - 4].strip("-") or kind
    codes = Design.objects.filter(kind=kind, code__startswith=plain)
    taken = {*codes.values_list("code", flat=True), *_shipped_codes(kind)}
    numbered = (f"{plain}-{n}" for n in range(2, len(taken) + 3))
    return plain if plain not in taken else next(c for c in numbered if c not in taken)


def _shipped_codes(kind: str) -> set[str]:
    return {SHIPPED_COMB} if kind == Design.COMB else {*layout_ids(), *aliases()}


def _check_code(kind: str, code: str) -> None:
    if code in _shipped_codes(kind):
        raise NameTaken(
            _("%r is a name of the catalogue; choose another one for your own.") % code,
            field="code",
        )
    there = Design.objects.filter(kind=kind, code=code).first()
    if there is not None:
        raise NameTaken(
            _("%(code)r is the name of %(title)s already; choose another one.")
            % {"code": code, "title": there.title},
            field="code",
        )


def _check_title(kind: str, title: str, but: Design | None) -> None:
    key = title_key(title)
    others = Design.objects.filter(kind=kind, title_key=key)
    there = (others.exclude(pk=but.pk) if but else others).first()
    if there is not None and there.retired:
        raise NameTaken(
            _("A retired one is called %s; take that into use again, or choose another title.")
            % there.title
        )
    if there is not None:
        raise NameTaken(_("Another one is called %s; choose another title.") % there.title)
    if key in {title_key(each) for each in _shipped_titles(kind)}:
        raise NameTaken(_("%s is in the catalogue; choose another title for your own.") % title)


def _shipped_titles(kind: str) -> list[str]:
    if kind == Design.COMB:
        return [default_comb().title]
    return [catalogue_layout(code).title for code in layout_ids()]
