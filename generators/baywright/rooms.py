"""Where the data folders `parts/` and `shared/` are found: in the wheel, or beside the source."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def room(name: str) -> Path:
    """Return the folder of shop data called `name` ("parts" or "shared").

    A checkout's own folder wins over the copy that a wheel carries, so an edited table counts at once.

    Raises:
        FileNotFoundError: if neither place has it; the message names both.
    """
    checkout = _PACKAGE.parents[1]
    beside = checkout / name
    carried = _PACKAGE / "_rooms" / name
    if (checkout / "pyproject.toml").is_file() and beside.is_dir():
        return beside
    if carried.is_dir():
        return carried
    raise FileNotFoundError(f"no folder '{name}': looked in {beside} and {carried}")
