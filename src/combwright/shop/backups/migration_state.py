"""Which migrations a database has had, and which this version of Combwright knows."""

from collections.abc import Mapping, Sequence

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.state import ProjectState

from combwright.shop.backups.tables import our_models

#: From a room's label to the names of its migrations, in order.
Migrations = Mapping[str, Sequence[str]]


def known() -> Migrations:
    """Return every migration of our rooms that this version knows."""
    return _ours(MigrationLoader(None).graph.nodes)


def applied(connection: BaseDatabaseWrapper) -> Migrations:
    """Return the migrations of our rooms that a database has had."""
    return _ours(MigrationLoader(connection).applied_migrations)


def is_current(connection: BaseDatabaseWrapper) -> bool:
    """Say whether a database has had exactly the migrations that this version knows."""
    return applied(connection) == known()


def _ours(keys: object) -> Migrations:
    rooms = {model._meta.app_label for model in our_models()}
    found: dict[str, list[str]] = {}
    for room, name in sorted(keys):  # type: ignore[call-overload]
        if room in rooms:
            found.setdefault(room, []).append(name)
    return found


def migrate_to(connection: BaseDatabaseWrapper, wanted: Migrations) -> ProjectState:
    """Bring an empty database to where another one stood; return the models it has then."""
    executor = MigrationExecutor(connection)
    nodes = {(room, name) for room, names in wanted.items() for name in names}
    graph = executor.loader.graph
    last = [
        node
        for node in sorted(nodes)
        if not any(
            child.key in nodes and child.key[0] == node[0]
            for child in graph.node_map[node].children
        )
    ]
    executor.migrate(last)
    return executor.loader.project_state(last)


def migrate_fully(connection: BaseDatabaseWrapper) -> None:
    """Bring a database to where this version stands."""
    executor = MigrationExecutor(connection)
    executor.migrate(executor.loader.graph.leaf_nodes())
