"""A job from its file: read, checked and its names found, with every problem told at once."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from baywright.job.adapters import AdapterAsk, GearboxRow, MotorRow
from baywright.job.bays import Bay
from baywright.job.catalogue import Catalogue, load_catalogue
from baywright.job.faults import read_as
from baywright.job.loads import LoadCase
from baywright.job.messages import BadInput, Problem, shown, unknown
from baywright.job.models import BoxAsk, Car, JobFile
from baywright.job.parts import Module
from baywright.job.rails import RailsAsk
from baywright.job.row import Named
from baywright.job.style import Style
from baywright.job.toml import Path_, key_text, line_of, toml_bytes, toml_of
from baywright.job.units import factor
from baywright.job.workshop import workshop_of


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

    @property
    def adapters(self) -> dict[str, AdapterAsk]:
        """The adapter plates asked for, by name."""
        return self.asked.adapters

    @property
    def rails(self) -> dict[str, RailsAsk]:
        """The motor rails asked for, by name."""
        return self.asked.rails

    @property
    def load_cases(self) -> list[LoadCase]:
        """The load cases that the job is held against, in its order."""
        own = self.asked.load_cases
        return [own[name] if name in own else self.catalogue.load(name) for name in self.asked.loads]

    def problem(self, path: Path_, message: str) -> Problem:
        """Return a problem at a key path of the job file."""
        return Problem(shown(self.path), line_of(self.lines, path), key_text(path), message)


def read_job(path: Path) -> Job:
    """Return the job in a file.

    Raises:
        BadInput: with every problem: syntax, keys, values, unknown names.
    """
    whole = toml_bytes(path)
    data, lines = toml_of(path, whole)
    catalogue = load_catalogue(path.parent / "parts")
    problems: list[Problem] = []
    units = _units(path, data.get("units", {}), lines, problems)
    asked = None
    try:
        asked = read_as(JobFile, data, file=path, lines=lines, units=units)
    except BadInput as bad:
        problems += bad.problems
    problems += _names(path, data, lines, catalogue)
    if asked is not None:
        try:
            own = workshop_of(data.get("workshop", {}), path.parent, units, path, lines)
            asked = asked.model_copy(update={"workshop": own})
        except BadInput as bad:
            problems += bad.problems
    if asked is None or problems:
        raise BadInput(dict.fromkeys(problems))
    return Job(path, asked, catalogue, lines, hashlib.sha256(whole).hexdigest())


def _units(path: Path, units: object, lines: dict[Path_, int], problems: list[Problem]) -> dict[str, str]:
    """Return the declared units that can be used; add a problem for each that measures something else."""
    good: dict[str, str] = {}
    for key, unit in units.items() if isinstance(units, dict) else ():
        if key not in ("length", "mass", "angle") or not isinstance(unit, str):
            continue  # the model says what is wrong
        try:
            factor(unit, key)
        except ValueError as error:
            problems.append(Problem(shown(path), line_of(lines, ("units", key)), f"units.{key}", str(error)))
        else:
            good[key] = unit
    return good


def _names(path: Path, data: dict[str, Any], lines: dict[Path_, int], catalogue: Catalogue) -> list[Problem]:
    """Return a problem for every name that nothing has: bays, and rows of the catalogue down to what they name.

    It reads the file's own tables, so that names are checked even where a figure is wrong; what has not the form of a
    name is left to the models.
    """
    problems: list[Problem] = []

    def row(kind: str, name: object, at: Path_) -> Named | None:
        if not isinstance(name, str):
            return None
        if name not in catalogue.raw[kind]:
            text = unknown(kind, name, catalogue.raw[kind])
            problems.append(Problem(shown(path), line_of(lines, at), key_text(at), text))
            return None
        try:
            return catalogue.row(kind, name)
        except BadInput as bad:
            problems.extend(bad.problems)
            return None

    row("cutter", data.get("cutter"), ("cutter",))
    own = _tables(data.get("load_cases"))
    loads = data.get("loads")
    for number, load in enumerate(loads if isinstance(loads, list) else ()):
        if load not in dict(own):
            row("load", load, ("loads", number))
    for name, case in own:
        if "basis" in case:
            row("basis", case["basis"], ("load_cases", name, "basis"))
    seen: dict[str, str] = {}
    for table in ("boxes", "adapters", "rails"):
        for name, _ in _tables(data.get(table)):
            if name in seen:
                text = f"{seen[name]} has one called '{name}' too: each gets a folder, so names must differ"
                problems.append(Problem(shown(path), line_of(lines, (table, name)), key_text((table, name)), text))
            seen[name] = table
    bays = data.get("bays")
    for name, box in _tables(data.get("boxes")):
        at: Path_ = ("boxes", name)
        module = row("module", box.get("module"), (*at, "module"))
        if isinstance(module, Module):
            problems += _module_names(catalogue, module)
        bay = box.get("bay")
        if isinstance(bay, str) and isinstance(bays, dict | None) and bay not in (bays or {}):
            text = unknown("bay", bay, bays or {})
            problems.append(Problem(shown(path), line_of(lines, (*at, "bay")), key_text((*at, "bay")), text))
        fittings = box.get("fittings")
        for number, fitting in enumerate(fittings if isinstance(fittings, list) else ()):
            called = fitting.get("fitting") if isinstance(fitting, dict) else fitting
            row("fitting", called, (*at, "fittings", number))
        style = box.get("style", BoxAsk.model_fields["style"].default)
        if row("style", style, (*at, "style")) is not None:
            problems += _style_names(catalogue, style)
    for name, rails in _tables(data.get("rails")):
        bay = rails.get("bay")
        if isinstance(bay, str) and isinstance(bays, dict | None) and bay not in (bays or {}):
            at = ("rails", name, "bay")
            text = unknown("bay", bay, bays or {})
            problems.append(Problem(shown(path), line_of(lines, at), key_text(at), text))
        joined, there = rails.get("adapter"), data.get("adapters")
        if isinstance(joined, str) and isinstance(there, dict | None) and joined not in (there or {}):
            at = ("rails", name, "adapter")
            text = unknown("adapter", joined, there or {})
            problems.append(Problem(shown(path), line_of(lines, at), key_text(at), text))
    for name, adapter in _tables(data.get("adapters")):
        at = ("adapters", name)
        row("sheet", adapter.get("stock", AdapterAsk.model_fields["stock"].default), (*at, "stock"))
        row("cutter", adapter.get("cutter", AdapterAsk.model_fields["cutter"].default), (*at, "cutter"))
        for kind in ("motor", "gearbox"):
            made = row(kind, adapter.get(kind), (*at, kind))
            if isinstance(made, MotorRow | GearboxRow):
                problems += _pattern_name(catalogue, kind, made)
    return problems


def _pattern_name(catalogue: Catalogue, kind: str, made: MotorRow | GearboxRow) -> list[Problem]:
    """Return a problem if a motor or a gearbox names a bolt pattern that the catalogue does not have."""
    if made.pattern in catalogue.raw["pattern"]:
        return []
    raw = catalogue.raw[kind][made.name]
    at: Path_ = (made.name, "pattern")
    text = unknown("pattern", made.pattern, catalogue.raw["pattern"])
    return [Problem(shown(raw.file), line_of(raw.lines, at), key_text(at), text)]


def _tables(value: object) -> list[tuple[str, dict[str, Any]]]:
    """Return the named tables of a table, leaving out what is none."""
    return [(key, row) for key, row in value.items() if isinstance(row, dict)] if isinstance(value, dict) else []


def _module_names(catalogue: Catalogue, module: Module) -> list[Problem]:
    """Return a problem for every thread in a module's hold-downs that the screw table does not have."""
    raw = catalogue.raw["module"][module.name]
    problems = []
    for number, group in enumerate(module.hold_downs):
        if group.screw not in catalogue.raw["screw"]:
            at: Path_ = (module.name, "hold_downs", number, "screw")
            text = unknown("screw", group.screw, catalogue.raw["screw"])
            problems.append(Problem(shown(raw.file), line_of(raw.lines, at), key_text(at), text))
    return problems


def _style_names(catalogue: Catalogue, name: str) -> list[Problem]:
    """Return a problem for every name in a style that the catalogue does not have."""
    raw = catalogue.raw["style"][name]
    problems = []
    for key, text in style_names(catalogue, catalogue.style(name)):
        path: Path_ = (name, *key.split("."))
        problems.append(Problem(shown(raw.file), line_of(raw.lines, path), key_text(path), text))
    return problems


# What a style's sections must be to be made into what their keys say.
_SHAPES = {
    **dict.fromkeys(
        ("corner_angle", "floor_angle", "flange_angle", "ledge_angle", "feet.section", "lift.section"), ("angle",)
    ),
    "bearer": ("bar",),
    "clamp_bar": ("bar", "channel", "tube"),
    "spacer": ("round tube", "tube"),
}


def style_names(catalogue: Catalogue, style: Style) -> Iterator[tuple[str, str]]:
    """Yield key and sentence for every name in a style that the catalogue lacks, or whose shape is wrong."""
    wanted = [
        *(("section", key) for key in ("corner_angle", "floor_angle", "flange_angle", "ledge_angle")),
        *(("section", key) for key in ("bearer", "clamp_bar", "spacer", "feet.section", "lift.section")),
        *(("material", f"{key}.material") for key in ("wall", "floor", "lid", "doubler", "liner", "gasket")),
        ("adhesive", "adhesive"),
        ("insert", "lid_screw.insert"),
        *(("screw", f"{key}.size") for key in ("joint_screw", "lid_screw", "bearer_screw")),
        *(("screw", key) for key in ("feet.screw", "feet.bolt", "lift.screw")),
    ]
    for kind, key in wanted:
        value: object = style
        for part in key.split("."):
            value = getattr(value, part)
        name = str(value)
        if name not in catalogue.raw[kind]:
            yield key, unknown(kind, name, catalogue.raw[kind])
        elif key in _SHAPES and (shape := catalogue.section(name).shape) not in _SHAPES[key]:
            yield key, f"'{name}' is of the shape '{shape}'; here it must be: {' or '.join(_SHAPES[key])}"
