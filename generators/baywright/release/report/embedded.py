"""Pictures of the release's other files, taken into the page itself: it needs no file beside it to be looked at."""

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

_TYPES = {".png": "image/png", ".svg": "image/svg+xml"}
# Bytes of pictures that one page takes; what would come after is only linked. The page stays fit to be sent by mail.
_MOST = 2_500_000


@dataclass(frozen=True, slots=True)
class Embedded:
    """A picture in the page: its address as data, what it shows, and its file's address beside the page."""

    data: str
    caption: str
    href: str


def pictures_in(folder: Path, wanted: Sequence[tuple[str, str]], above: int = 1) -> list[Embedded]:
    """Return those pictures of a folder that are there, with their captions.

    Args:
        folder: where they are.
        wanted: (file name, caption).
        above: how many folders the page lies above them.
    """
    found = []
    for name, caption in wanted:
        path = folder / name
        if path.is_file():
            inside = path.relative_to(folder.parents[above - 1]).as_posix()
            found.append(Embedded(_data(path), caption, quote(inside)))
    return found


def previews(folder: Path) -> list[Embedded]:
    """Return the sheets that are pictures: setting-out plan, adapters put together, nested sheets, bars."""
    paths = [*sorted(folder.glob("setting-out_*.svg")), *sorted(folder.glob("*/drawing/*-adapter-[1-4]_rev*.svg"))]
    paths += sorted(folder.glob("nest/*.svg"))
    paths += sorted(folder.glob("saw/*.svg"))
    found, size = [], 0
    for path in paths:
        size += path.stat().st_size
        if size > _MOST:
            break
        found.append(Embedded(_data(path), path.stem.replace("_", " "), quote(path.relative_to(folder).as_posix())))
    return found


def _data(path: Path) -> str:
    return f"data:{_TYPES[path.suffix]};base64,{base64.b64encode(path.read_bytes()).decode('ascii')}"
