"""A job from its file: read, checked and its names found, with every problem told at once."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from baywright.job.catalogue import Catalogue, load_catalogue
from baywright.job.faults import key_text, read_as
from baywright.job.messages import BadInput, Problem, shown, unknown
from baywright.job.models import Bay, BoxAsk, Car, JobFile
from baywright.job.toml import Path_, line_of, read_toml
from baywright.job.units import factor


@dataclass(frozen=True, eq=False)
class Job:
    """A job as asked, its names found in the catalogue.

    Attributes:
        path: the job file.
        asked: what it says.
        catalogue: the shop's tables and the job's own parts.
        lines: the line of each key path.
        digest: the file's SHA-256.
    """

    path: Path
    asked: JobFile
    catalogue: Catalogue
    lines: dict[Path_, int]
    digest: str

    @property
    def name(self) -> str:
        """The job's short name."""
        return self.asked.job.name

    @property
    def car(self) -> Car:
        """The car."""
        return self.asked.car

    @property
    def bays(self) -> dict[str, Bay]:
        """The bays by name."""
        return self.asked.bays

    @property
    def boxes(self) -> dict[str, BoxAsk]:
        """The boxes asked for, by name."""
        return self.asked.boxes

    def problem(self, path: Path_, message: str) -> Problem:
        """Return a problem at a key path of the job file."""
        return Problem(shown(self.path), line_of(self.lines, path), key_text(path), message)


def read_job(path: Path) -> Job:
    """Return the job in a file.

    Raises:
        BadInput: with every problem: syntax, keys, values, unknown names.
    """
    data, lines = read_toml(path)
    units = _units(path, data.get("units", {}), lines)
    catalogue = load_catalogue(path.parent / "parts")
    asked = read_as(JobFile, data, file=path, lines=lines, units=units)
    job = Job(path, asked, catalogue, lines, hashlib.sha256(path.read_bytes()).hexdigest())
    problems = _names(job)
    if problems:
        raise BadInput(problems)
    return job


def _units(path: Path, units: object, lines: dict[Path_, int]) -> dict[str, str]:
    """Return the declared units, each checked for its dimension."""
    if not isinstance(units, dict):
        raise BadInput([Problem(shown(path), lines.get(("units",)), "units", 'expected a table like length = "in"')])
    problems = []
    for key, unit in units.items():
        if key not in ("length", "mass", "angle"):
            continue  # the model says that the key is unknown
        try:
            factor(str(unit), key)
        except ValueError as error:
            problems.append(Problem(shown(path), lines.get(("units", key)), f"units.{key}", str(error)))
    if problems:
        raise BadInput(problems)
    return {key: str(unit) for key, unit in units.items()}


def _names(job: Job) -> list[Problem]:
    """Return a problem for every name that nothing has: bays, and rows of the catalogue down to a style's own."""
    problems: list[Problem] = []

    def row(kind: str, name: str, path: Path_) -> bool:
        if name not in job.catalogue.raw[kind]:
            problems.append(job.problem(path, unknown(kind, name, job.catalogue.raw[kind])))
            return False
        try:
            job.catalogue.row(kind, name)
        except BadInput as bad:
            problems.extend(p for p in bad.problems if p not in problems)
            return False
        return True

    row("cutter", job.asked.cutter, ("cutter",))
    for name, box in job.boxes.items():
        at: Path_ = ("boxes", name)
        row("module", box.module, (*at, "module"))
        if box.bay is not None and box.bay not in job.bays:
            problems.append(job.problem((*at, "bay"), unknown("bay", box.bay, job.bays)))
        for number, fitting in enumerate(box.fittings):
            row("fitting", fitting.fitting, (*at, "fittings", number))
        if row("style", box.style, (*at, "style")):
            problems += [p for p in _style_names(job.catalogue, box.style) if p not in problems]
    return problems


def _style_names(catalogue: Catalogue, name: str) -> list[Problem]:
    """Return a problem for every name in a style that the catalogue does not have."""
    style, raw = catalogue.style(name), catalogue.raw["style"][name]
    wanted = [
        *(("section", key) for key in ("corner_angle", "floor_angle", "flange_angle", "ledge_angle")),
        *(("section", key) for key in ("bearer", "clamp_bar", "spacer", "feet.section", "lift.section")),
        *(("material", f"{key}.material") for key in ("wall", "floor", "lid", "doubler", "liner", "gasket")),
        ("adhesive", "adhesive"),
        ("insert", "lid_screw.insert"),
        *(("screw", f"{key}.size") for key in ("joint_screw", "lid_screw", "bearer_screw")),
        *(("screw", key) for key in ("feet.screw", "feet.bolt", "lift.screw")),
    ]
    problems = []
    for kind, key in wanted:
        value: object = style
        for part in key.split("."):
            value = getattr(value, part)
        if str(value) not in catalogue.raw[kind]:
            path: Path_ = (name, *key.split("."))
            text = unknown(kind, str(value), catalogue.raw[kind])
            problems.append(Problem(shown(raw.file), line_of(raw.lines, path), key_text(path), text))
    return problems
