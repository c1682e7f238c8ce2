"""Debian packages that tests need: `python tests/debian.py chromium` installs what is missing.

Where it may not (no root, no apt-get) it says what will be left out, and that is no failure.
"""

import os
import shutil
import subprocess
import sys


def install(*packages: str) -> bool:
    """Install packages where that is possible; say whether it was."""
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        return False
    quietly = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    unasked = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    subprocess.run(["apt-get", "update"], check=False, env=unasked, **quietly)
    command = ["apt-get", "install", "-y", "--no-install-recommends", *packages]
    return subprocess.run(command, check=False, env=unasked, **quietly).returncode == 0


def there(package: str) -> bool:
    """Say whether a program of that name can be run, or the package is installed."""
    if shutil.which(package):
        return True
    if not shutil.which("dpkg-query"):
        return False
    command = ["dpkg-query", "-W", "-f", "${db:Status-Status}", package]
    asked = subprocess.run(command, check=False, capture_output=True, text=True)
    return asked.stdout.strip() == "installed"


def main(packages: list[str]) -> int:
    """Make sure that packages are there."""
    missing = [package for package in packages if not there(package)]
    if missing:
        install(*missing)
    for package in missing:
        if not there(package):
            print(f"{package} is not installed: its tests are left out.", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
