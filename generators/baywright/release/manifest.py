"""The manifest of a release: every file with its size and hash, and what made them; nothing of time or place."""

import hashlib
import json
from collections.abc import Mapping
from importlib import metadata
from pathlib import Path

from baywright.version import __version__

NAME = "manifest.json"
# What the bytes depend on besides the job, the tables and baywright itself: another version of the CAD kernel may
# write the same solid in other words. Python's version is not among them: 3.11 to 3.13 give the same bytes.
_KERNELS = (
    *("cadquery-ocp", "cadquery-ocp-novtk", "ezdxf", "matplotlib", "numpy", "reportlab", "scipy", "shapely"),
    *("spyrrow", "xlsxwriter"),
)


def sha256(path: Path) -> str:
    """Return a file's SHA-256 in hexadecimal."""
    with path.open("rb") as data:
        return hashlib.file_digest(data, "sha256").hexdigest()


def files_of(folder: Path) -> list[str]:
    """Return every file below a folder but the manifest, as paths with "/", sorted."""
    found = (path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    return sorted(name for name in found if name != NAME)


def write_manifest(folder: Path, job: str, revision: str, made_from: Mapping[str, str] = {}) -> Path:
    """Write manifest.json over all files below a folder and return its path.

    Args:
        folder: the release.
        job: the job file's SHA-256.
        revision: the release's letter.
        made_from: the SHA-256 of every file behind the release, by its path.
    """
    text = {
        "baywright": __version__,
        "revision": revision,
        "job sha256": job,
        "made from": dict(made_from),
        "written with": {name: version for name in _KERNELS if (version := _version(name))},
        "files": [
            {"path": name, "bytes": (folder / name).stat().st_size, "sha256": sha256(folder / name)}
            for name in files_of(folder)
        ],
    }
    path = folder / NAME
    path.write_text(json.dumps(text, indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
    return path


def _version(name: str) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return ""


def listed_files(folder: Path) -> dict[str, tuple[int, str]]:
    """Return what a manifest lists: size and SHA-256 by path.

    Raises:
        ValueError: if the manifest is missing or is not one; the message is a sentence.
    """
    path = folder / NAME
    try:
        text = json.loads(path.read_text(encoding="utf-8"))
        return {str(f["path"]): (int(f["bytes"]), str(f["sha256"])) for f in text["files"]}
    except FileNotFoundError:
        raise ValueError(f"{folder}: has no {NAME}: it is not a release") from None
    except (OSError, ValueError, KeyError, TypeError) as wrong:
        raise ValueError(f"{path}: cannot be read as a manifest") from wrong


def verify_manifest(folder: Path) -> list[str]:
    """Return what does not agree between a release and its manifest, a sentence each; nothing if all is whole."""
    try:
        listed = listed_files(folder)
    except ValueError as wrong:
        return [str(wrong)]
    there = set(files_of(folder))
    problems = [f"{name}: is listed but missing" for name in sorted(set(listed) - there)]
    problems += [f"{name}: is not listed: it was added later" for name in sorted(there - set(listed))]
    for name in sorted(there & set(listed)):
        size, digest = listed[name]
        path = folder / name
        if path.stat().st_size != size or sha256(path) != digest:
            problems.append(f"{name}: was changed after the release")
    return problems
