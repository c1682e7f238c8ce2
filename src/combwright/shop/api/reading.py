"""Reading a body: JSON in UTF-8, of bounded size, that says everything once."""

import json
from collections.abc import Sequence
from typing import Any, Final, NoReturn

from django.http import HttpRequest
from django.utils.translation import gettext as _
from ninja.parser import Parser

from combwright.shop.api import problems
from combwright.shop.api.problems import Problem

MOST_BYTES: Final = 1024 * 1024


class Reader(Parser):
    """Reads bodies strictly: what two readers could read differently is turned away."""

    def parse_body(self, request: HttpRequest) -> Any:
        """Return what a body says.

        Raises
        ------
        Problem
            If it is no JSON, not UTF-8, or too large.
        """
        kind = request.content_type or ""
        charset = (request.content_params or {}).get("charset", "utf-8").lower().strip('"')
        packed = request.headers.get("Content-Encoding", "identity")
        if kind != "application/json" or charset not in ("utf-8", "utf8") or packed != "identity":
            text = _("The body comes as %(kind)s; send it as application/json in UTF-8.")
            raise Problem(problems.NOT_JSON, text % {"kind": kind or _("nothing named")})
        if len(request.body) > MOST_BYTES:
            raise Problem(problems.TOO_LARGE, _("The body has more than 1 MiB."))
        return _read(request.body)


def _read(body: bytes) -> Any:
    try:
        return json.loads(body.decode(), parse_constant=_no_number, object_pairs_hook=_once_each)
    except UnicodeDecodeError as error:
        text = _("The body is not UTF-8 at byte %(byte)d.") % {"byte": error.start}
        raise Problem(problems.MALFORMED, text) from error
    except json.JSONDecodeError as error:
        text = _("The body is no JSON: line %(line)d, column %(column)d.")
        facts = {"line": error.lineno, "column": error.colno}
        raise Problem(problems.MALFORMED, text % facts) from error
    except (ValueError, RecursionError) as error:
        text = _("The body is no JSON that can be read: too deep, or a number too long.")
        raise Problem(problems.MALFORMED, text) from error


def _no_number(name: str) -> NoReturn:
    text = _("%(name)s is no number in JSON; send a number or leave it out.")
    raise Problem(problems.MALFORMED, text % {"name": name})


def _once_each(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    whole = dict(pairs)
    if len(whole) < len(pairs):
        names = [name for name, _value in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        text = _("The body names %(name)s twice in one object; say it once.")
        raise Problem(problems.MALFORMED, text % {"name": json.dumps(twice)})
    return whole
