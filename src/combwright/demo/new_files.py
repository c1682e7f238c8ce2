"""Files that are laid in a folder all together, never over what is there already."""

from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from combwright.errors import CombwrightError


class WouldOverwrite(CombwrightError):
    """A file that is there already, so that nothing was written."""

    def __init__(self, path: Path, more: int) -> None:
        others = f" (and {more} more)" if more else ""
        super().__init__(
            f"{path} is there already{others}; nothing was written. "
            "Name an empty or a new folder, or move the file away."
        )


class CannotWrite(CombwrightError):
    """A folder that files cannot be written to."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path} cannot be written: {reason}. Name a folder that can be written.")


def packaged_text(folder: str, name: str) -> str:
    """Return a text file that comes with this room, line ends as LF."""
    return files("combwright.demo").joinpath(folder, name).read_text("utf-8")


def write_new(
    folder: Path | str, texts: Mapping[str, str], *, same_is_fine: bool = False
) -> tuple[Path, ...]:
    """Write files that are not there yet into a folder, made where it is missing.

    The bytes are the same on every machine: UTF-8, lines ended by LF.

    Parameters
    ----------
    folder : Path or str
        Where they go.
    texts : mapping of str to str
        What each file, by its name, holds.
    same_is_fine : bool
        Leave a file that holds just that already, instead of refusing.

    Returns
    -------
    tuple of Path
        The files, in the order given.

    Raises
    ------
    WouldOverwrite
        If a file of one of the names is there; then nothing was written.
    CannotWrite
        If the folder cannot be made or a file cannot be written.
    """
    paths = [Path(folder) / name for name in texts]
    there = [path for path in paths if path.exists() or path.is_symlink()]
    kept = {path for path in there if same_is_fine and _holds(path, texts[path.name])}
    taken = [path for path in there if path not in kept]
    if taken:
        raise WouldOverwrite(taken[0], len(taken) - 1)
    written: list[Path] = []
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        for path, text in zip(paths, texts.values(), strict=True):
            if path in kept:
                continue
            with path.open("x", encoding="utf-8", newline="\n") as file:
                written.append(path)
                file.write(text)
    except (OSError, ValueError) as error:
        for path in written:  # all or nothing: half a set would not plan
            path.unlink(missing_ok=True)
        reason = getattr(error, "strerror", None) or str(error)
        raise CannotWrite(Path(folder), reason) from error
    return tuple(paths)


def _holds(path: Path, text: str) -> bool:
    try:
        return path.is_file() and path.read_bytes() == text.encode()
    except OSError:
        return False
