"""Set up a shop with jobs in every state, and print the link that lets its owner in.

Run as `python -m shop.jobs.seeding FILE`, where FILE says how far the job is that follows it.
"""

import sys

import django

django.setup()

from django.core.management import call_command  # noqa: E402

from combwright.shop.jobs import actions  # noqa: E402
from combwright.shop.jobs.progress import Progress  # noqa: E402
from combwright.shop.jobs.registry import kinds  # noqa: E402
from combwright.shop.people.actions import make_link  # noqa: E402
from combwright.shop.people.models import Person  # noqa: E402
from combwright.shop.people.views import link_address  # noqa: E402
from shop.jobs.hands import LEASE  # noqa: E402


def main(path):
    call_command("migrate", verbosity=0)
    owner = Person.objects.join("ida", "Ida Morrow", "owner", None)

    def taken(kind, person, arguments):
        actions.start(kind, arguments, person)
        return actions.take_up("back-room, process 12", LEASE, kinds())

    done = {"words": "12 bins are written.", "address": "/rack/bins/"}
    actions.finish(taken("note", owner, {"what": 1}), done, Progress())
    refused = "Bin A-12 holds 3 plates; 9 cannot be taken from it. Count it, then start again."
    actions.fail(taken("refuse", None, {"text": ""}), refused)
    stopped = taken("steps", owner, {"steps": 3})
    actions.ask_to_stop(stopped, owner)
    actions.stop(stopped)
    actions.start("from a later version", {}, owner)
    actions.start("follow", {"path": path}, owner)
    sys.stdout.write(link_address(make_link(owner, 1)))


if __name__ == "__main__":
    main(sys.argv[1])
