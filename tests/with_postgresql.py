"""Run a command with a PostgreSQL of its own: `python tests/with_postgresql.py pytest -m data`.

Takes Debian's server programs, installing them where it may; the cluster lives in a temporary
folder, listens on a socket there and on nothing else, and is gone when the command ends.
"""

import os
import pwd
import subprocess
import sys
import tempfile
from pathlib import Path

from debian import install

NOT_HERE = 77


def programs() -> Path | None:
    """Return the folder of the newest server's programs, installed first where that is possible."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    if not found and install("postgresql"):
        found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


def main(command: list[str]) -> int:
    """Start a cluster, run the command, stop the cluster; return the command's exit code."""
    bin_folder = programs()
    if bin_folder is None:
        print("PostgreSQL is not installed: its tests are left out.", file=sys.stderr)
        return NOT_HERE if os.environ.get("CI") else 0
    with tempfile.TemporaryDirectory(prefix="combwright-pg-") as name:
        folder = Path(name)
        as_server = _as_server(folder)
        cluster = folder / "cluster"
        how = ["-U", "shop", "-A", "trust", "-E", "UTF8", "--no-sync"]
        subprocess.run(
            [*as_server, bin_folder / "initdb", "-D", cluster, *how],
            check=True, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        options = f"-c listen_addresses='' -c unix_socket_directories='{folder}' -c fsync=off"
        control = [*as_server, bin_folder / "pg_ctl", "-D", cluster, "-w"]
        subprocess.run(
            [*control, "-l", folder / "log", "-o", options, "start"],
            check=True, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            address = f"postgresql://shop@/postgres?host={folder}"
            return subprocess.run(
                command, env={**os.environ, "COMBWRIGHT_DATABASE": address}, check=False
            ).returncode
        finally:
            subprocess.run([*control, "-m", "fast", "stop"], check=True, stdout=subprocess.DEVNULL)


def _as_server(folder: Path) -> list[str]:
    """Return what to put before the server's programs: they refuse to run as root."""
    if os.geteuid() != 0:
        return []
    user = pwd.getpwnam("postgres")
    os.chown(folder, user.pw_uid, user.pw_gid)
    folder.chmod(0o755)
    return ["setpriv", f"--reuid={user.pw_uid}", f"--regid={user.pw_gid}", "--clear-groups"]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
