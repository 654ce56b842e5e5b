"""What a release was made from: every file behind it with its hash, so that a changed table can be told later."""

from pathlib import Path

from baywright.job.adapters import GearboxRow, MotorRow
from baywright.job.catalogue import KINDS
from baywright.job.patterns import PatternRow
from baywright.job.read import Job
from baywright.job.scans import read_scan_file
from baywright.job.workshop import NAME as WORKSHOP
from baywright.release.manifest import sha256
from baywright.rooms import room


def sources(job: Job) -> dict[str, str]:
    """Return the SHA-256 of each file that a job was read from, by its path; sorted.

    They are the job file, what it names (scans, readings, drawings of bolt patterns), rows beside it in `parts/`, and
    `workshop.toml`, each by its path from the job's folder ("elsewhere: NAME" if it lies outside); and the shop's own
    tables, as "shop: shared/screws.toml".

    Raises:
        BadInput: if a scan's description can no longer be read.
        OSError: if a file has gone meanwhile.
    """
    folder = job.path.parent
    files = {job.path}
    if (folder / WORKSHOP).is_file():
        files.add(folder / WORKSHOP)
    for bay in job.bays.values():
        if bay.scan is not None:
            about = folder / bay.scan
            files |= {about, read_scan_file(about)[1]}
    for kind in KINDS:
        files |= {row.file for row in job.catalogue.raw[kind].values()}
    for adapter in job.adapters.values():
        for kind, name in (("motor", adapter.motor), ("gearbox", adapter.gearbox)):
            row = job.catalogue.row(kind, name)
            assert isinstance(row, MotorRow | GearboxRow)
            files |= _behind(job, row.pattern)
    return dict(sorted((_told(path, folder), sha256(path)) for path in files))


def _behind(job: Job, name: str) -> set[Path]:
    """Return the readings and the drawing that a bolt pattern names."""
    row = job.catalogue.row("pattern", name)
    assert isinstance(row, PatternRow)
    beside = job.catalogue.raw["pattern"][name].file.parent
    return {beside / called for called in (row.readings, row.dxf and row.dxf.file) if called}


def _told(path: Path, folder: Path) -> str:
    """Return a file's path as the manifest says it: nothing of this machine."""
    path, folder = path.resolve(), folder.resolve()
    if path.is_relative_to(folder):
        return path.relative_to(folder).as_posix()
    for place in ("parts", "shared"):
        if path.is_relative_to(room(place).resolve()):
            return f"shop: {place}/{path.relative_to(room(place).resolve()).as_posix()}"
    return f"elsewhere: {path.name}"
