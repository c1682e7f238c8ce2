"""Which tables are the shop: every model of our rooms, but what a backup had better not bring back.

A model of a later room is taken up by itself. A class says `not_backed_up = True` where its rows
should not come back: what is only good for minutes, or would be acted upon twice.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.apps import apps as current_apps
from django.apps.registry import Apps
from django.contrib.sessions.models import Session
from django.db.models import Field, Model

#: Jobs are left out: half-done work of yesterday must not begin again, and regular ones come back
#: by themselves. A one-time link or a failed try at the door is good for minutes.
_LEFT_OUT: Final = frozenset({"people.link", "people.knock"})
_LEFT_OUT_ROOMS: Final = frozenset({"jobs"})
_OURS: Final = "combwright.shop."


@dataclass(frozen=True, slots=True)
class Table:
    """A table as a backup knows it.

    Parameters
    ----------
    label : str
        The model's, as `rack.bin`.
    key : str
        The column of the primary key.
    columns : tuple of str
        In the order of a row; a reference's column ends in `_id`.
    references : mapping of str to str
        From a column to the label of the table whose key it holds.
    """

    label: str
    key: str
    columns: tuple[str, ...]
    references: Mapping[str, str]

    def place(self, column: str) -> int:
        """Return where in a row a column stands."""
        return self.columns.index(column)


def our_models(registry: Apps = current_apps) -> list[type[Model]]:
    """Return every model of our rooms that has a table, in a steady order."""
    rooms = {each.label for each in current_apps.get_app_configs() if each.name.startswith(_OURS)}
    return sorted(
        (
            model
            for model in registry.get_models(include_auto_created=True)
            if model._meta.app_label in rooms and model._meta.managed and not model._meta.proxy
        ),
        key=lambda model: model._meta.label_lower,
    )


def kept_models() -> list[type[Model]]:
    """Return the models whose rows are backed up, those that others refer to first."""
    return in_order(model for model in our_models() if is_kept(model))


def is_kept(model: type[Model]) -> bool:
    """Say whether a model's rows are backed up."""
    return not (
        getattr(model, "not_backed_up", False)
        or model._meta.label_lower in _LEFT_OUT
        or model._meta.app_label in _LEFT_OUT_ROOMS
    )


def emptied_models() -> list[type[Model]]:
    """Return the models whose rows go when a backup is brought back: all of ours, and sessions."""
    return [*our_models(), Session]


def in_order(models: Iterable[type[Model]]) -> list[type[Model]]:
    """Sort models so that a reference points backwards, save where they refer in a ring."""
    left = {model._meta.label_lower: model for model in models}
    wants = {
        label: {to for to in _references(model, left).values() if to != label}
        for label, model in left.items()
    }
    done: list[type[Model]] = []
    while left:
        ready = next((label for label in left if not wants[label] & left.keys()), next(iter(left)))
        done.append(left.pop(ready))
    return done


def fields(model: type[Model]) -> "list[Field[Any, Any]]":
    """Return the fields that have a column in the model's own table."""
    return list(model._meta.local_concrete_fields)


def table_of(model: type[Model], among: Iterable[type[Model]]) -> Table:
    """Describe a model's table; references lead to tables among those given."""
    labels = {each._meta.label_lower for each in among}
    return Table(
        label=model._meta.label_lower,
        key=model._meta.pk.attname,
        columns=tuple(field.attname for field in fields(model)),
        references=_references(model, labels),
    )


def blanked(model: type[Model], table: Table) -> frozenset[str]:
    """Return the columns that refer to a table which is left out: they are written as empty.

    Raises
    ------
    TypeError
        If such a column may not be empty: the row would be lost, and nobody told.
    """
    outside = [f for f in fields(model) if _refers(f) and f.attname not in table.references]
    for field in outside:
        if not field.null:
            raise TypeError(f"{field} refers to a table that is not backed up, so it must be null.")
    return frozenset(field.attname for field in outside)


def _refers(field: "Field[Any, Any]") -> bool:
    """Say whether the database holds a column to another table; a mere name may be of nothing."""
    return field.remote_field is not None and getattr(field, "db_constraint", True)


def _references(model: type[Model], among: Iterable[str]) -> dict[str, str]:
    labels = set(among)
    found = {}
    for field in fields(model):
        if _refers(field):
            to = field.related_model._meta.label_lower  # type: ignore[union-attr]
            if to in labels:
                found[field.attname] = to
    return found
