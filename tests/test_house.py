"""The house itself: which floor may import which, where heavy libraries live, what stands at the top."""

import ast
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "generators" / "baywright"

# From the ground up: a room may import rooms on its own floor or below. "baywright" is the package's own first page,
# the public functions of all floors: no room imports it.
FLOORS = {
    "version": 0,
    "rooms": 0,
    "finding": 0,
    "figure": 0,
    "workers": 0,
    "shape": 0,
    "job": 1,
    "piece": 2,
    "mechanics": 3,
    "box": 4,
    "adapter": 4,
    "rail": 4,
    "bay": 5,
    "vehicle": 5,
    "strength": 5,
    "design": 6,
    "joined": 6,
    "review": 7,
    "variants": 8,
    "release": 8,
    "cli": 9,
    "baywright": 10,
}
KERNELS = {"cadquery", "OCP", "ezdxf"}
# Slow to import: only inside the function that needs them, so that a review answers at once.
SLOW = {"scipy", "shapely", "matplotlib", "trimesh", "jinja2"}
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE",
    "pyproject.toml",
    "parts",
    "generators",
    "tests",
    "outputs",
    "shared",
}


@dataclass(frozen=True)
class Import:
    """One import: where it stands, what it names, and whether it waits inside a function."""

    module: str
    line: int
    target: str
    waits: bool

    def __str__(self) -> str:
        return f"{self.module} line {self.line} imports {self.target}"


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def targets(node: ast.AST, module: str, is_package: bool) -> list[str]:
    """Return the full names that a node imports; `from x import y` as x.y, for y may be a module."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom):
        base = node.module or ""
        if node.level:
            parts = module.split(".")
            above = parts[: len(parts) - node.level + (1 if is_package else 0)]
            base = ".".join([*above, base]) if base else ".".join(above)
        return [f"{base}.{alias.name}" for alias in node.names]
    if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name in ("import_module", "__import__") and isinstance(node.args[0].value, str):
            return [node.args[0].value]
    return []


def imports_of(source: str, module: str, is_package: bool) -> Iterator[Import]:
    """Yield every import of a module, in functions and under conditions too."""

    def walk(node: ast.AST, waits: bool, types_only: bool) -> Iterator[Import]:
        for child in ast.iter_child_nodes(node):
            inside = waits or isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            typed = types_only or (isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test))
            for target in targets(child, module, is_package):
                yield Import(module, child.lineno, target, inside or typed)
            yield from walk(child, inside, typed)

    yield from walk(ast.parse(source), False, False)


def read_package() -> tuple[dict[str, Path], list[Import]]:
    modules = {module_name(path): path for path in sorted(PACKAGE.rglob("*.py")) if "_rooms" not in path.parts}
    found = []
    for name, path in modules.items():
        found += imports_of(path.read_text(encoding="utf-8"), name, path.name == "__init__.py")
    return modules, found


MODULES, IMPORTS = read_package()


def module_of(target: str) -> str | None:
    """Return the package's module that a name is or lies in, None for other libraries."""
    while target:
        if target in MODULES:
            return target
        target = target.rpartition(".")[0]
    return None


INSIDE = [(i, there) for i in IMPORTS if (there := module_of(i.target)) is not None]


def room_of(module: str) -> str:
    return module.split(".")[1] if "." in module else module


def test_every_room_has_its_floor():
    assert {room_of(module) for module in MODULES} <= set(FLOORS)


def test_no_import_runs_up():
    up = [str(i) for i, there in INSIDE if FLOORS[room_of(there)] > FLOORS[room_of(i.module)]]
    assert not up, "\n".join(up)


def test_rooms_do_not_lean_on_each_other_in_a_ring():
    graph: dict[str, set[str]] = {}
    for i, there in INSIDE:
        a, b = room_of(i.module), room_of(there)
        if a != b:
            graph.setdefault(a, set()).add(b)
    try:
        tuple(TopologicalSorter(graph).static_order())
    except CycleError as ring:
        pytest.fail(f"rooms import each other: {' -> '.join(ring.args[1])}")


def test_shape_knows_nothing_but_shape():
    assert [str(i) for i, there in INSIDE if room_of(i.module) == "shape" and room_of(there) != "shape"] == []


def test_generators_do_not_know_each_other():
    made = {"box", "adapter", "rail"}
    crossed = [
        str(i)
        for i, there in INSIDE
        if {room_of(i.module), room_of(there)} <= made and room_of(i.module) != room_of(there)
    ]
    assert not crossed, "\n".join(crossed)


def test_kernel_and_dxf_are_imported_by_the_release_alone():
    wrong = []
    for i in IMPORTS:
        library, room = i.target.split(".")[0], room_of(i.module)
        # Reading somebody's hole pattern from a DXF is the one other use, and it waits until it is asked for.
        reads_pattern = library == "ezdxf" and room == "adapter" and i.waits
        if library in KERNELS and room != "release" and not reads_pattern:
            wrong.append(str(i))
    assert not wrong, "\n".join(wrong)


def test_slow_libraries_wait_until_they_are_needed():
    wrong = [
        str(i) for i in IMPORTS if i.target.split(".")[0] in SLOW and not i.waits and room_of(i.module) != "release"
    ]
    assert not wrong, "\n".join(wrong)


def test_the_reader_of_imports_sees_all_kinds():
    source = """
import a.b
from baywright.box import build
from . import near
from ..piece.plate import Plate
def late():
    import scipy.optimize
    importlib.import_module("baywright.cli")
if TYPE_CHECKING:
    from ezdxf import Drawing
"""
    found = [(i.target, i.waits) for i in imports_of(source, "baywright.bay.fit", False)]
    assert found == [
        ("a.b", False),
        ("baywright.box.build", False),
        ("baywright.bay.near", False),
        ("baywright.piece.plate.Plate", False),
        ("scipy.optimize", True),
        ("baywright.cli", True),
        ("ezdxf.Drawing", True),
    ]
    (own,) = imports_of("from .fit import check", "baywright.bay", True)
    assert own.target == "baywright.bay.fit.check"


def test_a_review_imports_no_kernel_and_no_dxf():
    job = ROOT / "shared" / "jobs" / "estate.toml"
    program = f"""
import sys
sys.argv = ["baywright", "review", {str(job)!r}]
from baywright.cli import main
code = 0
try:
    main()
except SystemExit as end:
    code = end.code or 0
print("LOADED", code, *({KERNELS!r} & sys.modules.keys()), file=sys.stderr)
"""
    run = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )
    assert "Traceback" not in run.stderr, run.stderr
    _, code, *heavy = run.stderr.strip().splitlines()[-1].split()
    assert code in ("0", "1"), run.stderr  # 1: something in the review fails; 2 would be bad input
    assert run.stdout.strip()
    assert heavy == []


@pytest.mark.parametrize("module", sorted(MODULES))
def test_no_module_is_longer_than_600_lines(module):
    assert len(MODULES[module].read_text(encoding="utf-8").splitlines()) <= 600


# --- the checkout ---------------------------------------------------------------------------------------------------


def committed() -> list[str]:
    """Return the paths that git keeps, or, where there is no git, every file outside build and cache folders."""
    if (ROOT / ".git").exists() and shutil.which("git"):
        # safe.directory: a checkout may belong to someone else than whoever runs the tests.
        out = subprocess.run(
            ["git", "-c", f"safe.directory={ROOT}", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True
        ).stdout.decode()
        return [name for name in out.split("\0") if name and (ROOT / name).is_file()]
    made = {"dist", "build", "node_modules", "__pycache__", "uv.lock"}
    return [
        str(rel)
        for path in ROOT.rglob("*")
        if path.is_file()
        and not made & set((rel := path.relative_to(ROOT)).parts)
        and not (rel.parts[0].startswith(".") and rel.parts[0] != ".ci")
    ]


COMMITTED = committed()


def test_the_top_level_holds_only_its_rooms():
    names = {name.split("/")[0] for name in COMMITTED}
    assert {name for name in names if not name.startswith(".")} <= TOP


def test_outputs_keep_only_their_page():
    if (ROOT / ".git").exists():
        assert [name for name in COMMITTED if name.startswith("outputs/")] == ["outputs/README.md"]


def test_data_rooms_hold_no_code():
    assert [name for name in COMMITTED if name.startswith(("parts/", "shared/")) and name.endswith(".py")] == []


def test_no_lock_file_is_committed():
    # A lock file names the index it was made from; the pins stand in pyproject.toml instead.
    assert [name for name in COMMITTED if Path(name).name in ("uv.lock", "poetry.lock", "package-lock.json")] == []


def test_no_file_names_a_package_registry():
    # Written in halves, so that this file does not name them either.
    hosts = [
        a + b
        for a, b in (
            ("pypi.", "org"),
            ("python", "hosted.org"),
            ("npm", "js.org"),
            ("npm", "js.com"),
            ("crates.", "io"),
            ("anaconda.", "org"),
            ("proxy.golang.", "org"),
            ("deb.debian.", "org"),
        )
    ]
    named = [
        f"{name}: {host}" for name in COMMITTED for host in hosts if host.encode() in (ROOT / name).read_bytes().lower()
    ]
    assert not named, "\n".join(named)
