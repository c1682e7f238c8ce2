"""The commands as a process of its own: `python keeping_command.py backup FILE`.

With COMBWRIGHT_TEST_DIES=n the process kills itself, as `kill -9` does, when for the n-th time a
statement of SQL begins, a transaction ends, or a file is opened, renamed or removed; with a large n
it tells at its end how many such places it met.
"""

import atexit
import os
import signal
import sys


def die_at(step):
    left = [step]

    def look(event, _arguments):
        if event in WATCHED and at_work:
            left[0] -= 1
            if left[0] <= 0:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(look)
    atexit.register(lambda: sys.stdout.write(f"PLACES {step - left[0]}\n"))


WATCHED = {"open", "os.rename", "os.remove"}
at_work = []


def main():
    from combwright.cli import keeping
    from combwright.cli.main import app, run

    known = {each.name for each in app.registered_commands}
    for name in ("backup", "restore", "move-shop"):
        if name not in known:
            app.command(name)(getattr(keeping, name.replace("-", "_")))
    if step := int(os.environ.get("COMBWRIGHT_TEST_DIES", "0")):
        from django.db.backends import utils
        from django.db.backends.base.base import BaseDatabaseWrapper

        die_at(step)
        execute = utils.CursorWrapper._execute_with_wrappers

        def watched(self, *arguments, **more):
            sys.audit("os.rename", "", "", -1, -1)
            return execute(self, *arguments, **more)

        utils.CursorWrapper._execute_with_wrappers = watched
        commit = BaseDatabaseWrapper._commit

        def committed(self):
            sys.audit("os.rename", "", "", -1, -1)
            commit(self)
            sys.audit("os.rename", "", "", -1, -1)

        BaseDatabaseWrapper._commit = committed
        at_work.append(True)
    run()


if __name__ == "__main__":
    main()
