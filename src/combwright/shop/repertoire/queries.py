"""What is read from repertoires."""

from combwright.shop.repertoire.models import Repertoire
from combwright.tunes.keeping import from_plain
from combwright.tunes.tune import Tune


def tunes_of(repertoire: Repertoire) -> tuple[Tune, ...]:
    """Return the tunes of a repertoire, in their order, as they were read."""
    kept = repertoire.melodies.order_by("place").values_list("music", flat=True)
    return tuple(from_plain(music) for music in kept)
