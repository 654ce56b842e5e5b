"""The catalogue: every row of parts/ and shared/, read when first needed, checked when asked for."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

from baywright.job.adapters import BoltSize, FitClass, GearboxRow, MotorRow
from baywright.job.faults import read_as
from baywright.job.loads import Basis, LoadCase
from baywright.job.messages import BadInput, Problem, shown, unknown
from baywright.job.parts import Fitting, Module, Section
from baywright.job.patterns import PatternRow
from baywright.job.row import Named
from baywright.job.shop import Adhesive, Cutter, Insert, Material, ScrewSize, SheetStock
from baywright.job.style import Style
from baywright.job.toml import Path_, read_toml
from baywright.rooms import room

N = TypeVar("N", bound=Named)

# By kind: its model, the room that the shop's own rows lie in, and what their file or folder is called there.
KINDS: dict[str, tuple[type[Named], str, str]] = {
    "module": (Module, "parts", "modules"),
    "section": (Section, "parts", "sections"),
    "fitting": (Fitting, "parts", "fittings"),
    "material": (Material, "shared", "materials"),
    "adhesive": (Adhesive, "shared", "adhesives"),
    "screw": (ScrewSize, "shared", "screws"),
    "insert": (Insert, "shared", "inserts"),
    "sheet": (SheetStock, "shared", "sheets"),
    "style": (Style, "shared", "styles"),
    "cutter": (Cutter, "shared", "cutters"),
    "pattern": (PatternRow, "parts", "patterns"),
    "motor": (MotorRow, "parts", "motors"),
    "gearbox": (GearboxRow, "parts", "gearboxes"),
    "bolt": (BoltSize, "shared", "bolts"),
    "fit": (FitClass, "shared", "fits"),
    "load": (LoadCase, "shared", "loads"),
    "basis": (Basis, "shared", "factors"),
}


@dataclass(frozen=True)
class RawRow:
    """A row as its file says it, not yet checked."""

    file: Path
    data: dict[str, Any]
    lines: dict[Path_, int]
    units: dict[str, str]


class Rows(dict[str, dict[str, RawRow]]):
    """Rows by kind, then by name; a kind's own files are read when it is first asked for."""

    def __missing__(self, kind: str) -> dict[str, RawRow]:
        """Return the shop's own rows of a kind; raises KeyError if there is no such kind."""
        self[kind] = dict(_own(kind))
        return self[kind]


@dataclass(frozen=True, eq=False)
class Catalogue:
    """Rows by kind and name. Nothing is read or checked before it is asked for, so a large catalogue costs nothing."""

    raw: Rows = field(repr=False)
    _checked: dict[tuple[str, str], Named] = field(default_factory=dict, repr=False)

    def names(self, kind: str) -> list[str]:
        """Return the names of a kind, sorted."""
        return sorted(self.raw[kind])

    def row(self, kind: str, name: str) -> Named:
        """Return the row of a kind by its name.

        Raises:
            BadInput: if there is none (with the nearest name), or the row itself is wrong (with its file and line).
        """
        known = self._checked.get((kind, name))
        if known is not None:
            return known
        raw = self.raw[kind].get(name)
        if raw is None:
            raise BadInput([Problem("catalogue", None, "", unknown(kind, name, self.raw[kind]))])
        model = KINDS[kind][0]
        data = {"name": name, **raw.data}
        made = read_as(model, data, file=raw.file, lines=raw.lines, at=(name,), units=raw.units)
        self._checked[kind, name] = made
        return made

    def _get(self, kind: str, name: str, model: type[N]) -> N:
        return cast(N, self.row(kind, name))

    def module(self, name: str) -> Module:
        """Return a module's row."""
        return self._get("module", name, Module)

    def section(self, name: str) -> Section:
        """Return a section's row."""
        return self._get("section", name, Section)

    def fitting(self, name: str) -> Fitting:
        """Return a fitting's row."""
        return self._get("fitting", name, Fitting)

    def material(self, name: str) -> Material:
        """Return a material's row."""
        return self._get("material", name, Material)

    def adhesive(self, name: str) -> Adhesive:
        """Return an adhesive's row."""
        return self._get("adhesive", name, Adhesive)

    def screw(self, name: str) -> ScrewSize:
        """Return a thread's row ("M5")."""
        return self._get("screw", name, ScrewSize)

    def insert(self, name: str) -> Insert:
        """Return an insert's row."""
        return self._get("insert", name, Insert)

    def sheet(self, name: str) -> SheetStock:
        """Return a sheet stock's row."""
        return self._get("sheet", name, SheetStock)

    def style(self, name: str) -> Style:
        """Return a box style's row."""
        return self._get("style", name, Style)

    def cutter(self, name: str) -> Cutter:
        """Return a cutter profile's row."""
        return self._get("cutter", name, Cutter)

    def load(self, name: str) -> LoadCase:
        """Return a load case's row."""
        return self._get("load", name, LoadCase)

    def basis(self, name: str) -> Basis:
        """Return the row of a basis of strength."""
        return self._get("basis", name, Basis)

    def with_row(self, kind: str, row: Named) -> "Catalogue":
        """Return the catalogue with one row of a kind in the place of the row of its name."""
        return Catalogue(self.raw, {**self._checked, (kind, row.name): row})


def load_catalogue(extra: Path | None = None) -> Catalogue:
    """Return the shop's catalogue, with the rows of a folder (a job's own `parts/`) added if it exists.

    The folder may hold rows of every kind, each in the kind's file or folder: `cutters.toml`, `modules/mine.toml`.

    Raises:
        BadInput: if one of its files is no TOML, holds a name that the shop's tables have already, or lies where no
            kind is read from.
    """
    rows = Rows()
    if extra is None or not extra.is_dir():
        return Catalogue(rows)
    problems = list(_astray(extra))
    # A job file that lies beside the shop's own parts has these for its own.
    shops = extra.resolve() == room("parts").resolve()
    for kind, (_, place, called) in KINDS.items():
        if shops and place == "parts":
            continue
        for name, raw in _read_kind(extra, called).items():
            if name in rows[kind]:
                line = raw.lines.get((name,))
                theirs = shown(rows[kind][name].file)
                text = f"the shop has a {kind} of this name already ({theirs}); choose another name"
                problems.append(Problem(shown(raw.file), line, name, text))
            rows[kind][name] = raw
    if problems:
        raise BadInput(problems)
    return Catalogue(rows)


def _astray(folder: Path) -> Iterator[Problem]:
    """Yield what a job's own parts hold where nobody would read it: a file of no kind, a folder of a kind's name."""
    for file in sorted(folder.glob("*.toml")):
        if file.stem not in {called for _, _, called in KINDS.values()}:
            text = "lies where no kind of part is read: put a module into modules/, a cutter into cutters/, and so on"
            yield Problem(shown(file), None, "", text)
    for kind, (_, _, called) in KINDS.items():
        if (folder / kind).is_dir() and any((folder / kind).glob("*.toml")):
            yield Problem(shown(folder / kind), None, "", f"is not read: name the folder '{called}'")


@cache
def _own(kind: str) -> dict[str, RawRow]:
    _, place, called = KINDS[kind]
    return _read_kind(room(place), called)


def _read_kind(folder: Path, called: str) -> dict[str, RawRow]:
    """Return the rows of one kind in a folder; two files with one name are refused."""
    rows: dict[str, RawRow] = {}
    alone = folder / f"{called}.toml"
    for file in [*([alone] if alone.exists() else []), *sorted((folder / called).glob("*.toml"))]:
        data, lines = read_toml(file)
        units = data.pop("units", {})
        for name, row in data.items():
            if name in rows:
                text = f"is in {shown(rows[name].file)} already"
                raise BadInput([Problem(shown(file), lines.get((name,)), name, text)])
            if not isinstance(row, dict):
                raise BadInput([Problem(shown(file), lines.get((name,)), name, "expected a table [name] of its own")])
            rows[name] = RawRow(file, row, lines, units)
    return rows
