"""Mutation testing of one room: is there a line that could be wrong and no test would notice?

    .venv/bin/uv run --group mutation python tests/mutate.py shape
    .venv/bin/uv run --group mutation python tests/mutate.py mechanics --file beam --tests tests/mechanics/test_beam.py

mutmut alters the room's functions one small change at a time and runs the tests that reach them. It wants the package
under src/, so a copy is set up in .mutants/; there `mutmut show NAME` says how a survivor differs, and a second run
goes on where the first stopped. Not part of the suite: a whole room takes from minutes to hours. By default every fifth
change is tried, the same ones on every run, and changes of texts only (half of all: messages, meanings, sources) are
left out.

A trial is forked from a process that has run the tests: what a test module keeps at its top stays as it was reckoned
before the change, so let such things be made in fixtures.
"""

import argparse
import ast
import json
import os
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

# The quick tests that hold each room. What runs for seconds and asks what others ask too is left out.
TESTS = {
    "shape": ["tests/shape"],
    "piece": ["tests/piece"],
    "mechanics": ["tests/mechanics", "tests/published"],
    "strength": ["tests/strength", "tests/published"],
}
LONG = [
    "tests/published/test_sections.py::test_against_sectionproperties",
    "tests/piece/test_cutting.py::test_least_web_agrees_with_a_polygon_library",
]
# A failure is enough: the smallest example of it need not be found.
QUICK = """
from hypothesis import Phase

settings.register_profile("quick", settings.get_profile("shop"), phases=[Phase.explicit, Phase.generate], database=None)
settings.load_profile("quick")
"""
# mutmut's own exit codes of a trial; others are kills.
SURVIVED, UNREACHED, UNTRIED = 0, (5, 33), None


def stage(room: str, file: str, tests: list[str]) -> Path:
    """Set up the copy that mutmut works in, anew, and return its folder."""
    copy = ROOT / ".mutants" / (room if file == "*" else f"{room}-{file}")
    copy.mkdir(parents=True, exist_ok=True)
    for name, into in (("generators", "src"), ("tests", "tests"), ("parts", "parts"), ("shared", "shared")):
        shutil.rmtree(copy / into, ignore_errors=True)
        shutil.copytree(ROOT / name, copy / into, ignore=shutil.ignore_patterns("__pycache__"))
    with (copy / "tests" / "conftest.py").open("a", encoding="utf-8") as conftest:
        conftest.write(QUICK)
    skip = [word for test in LONG for word in ("--deselect", test)]
    settings = {
        "source_paths": ["src"],
        "only_mutate": [f"src/baywright/{room}/{file}.py"],
        "also_copy": ["parts", "shared"],
        # A number's type that another would serve as well.
        "do_not_mutate_patterns": ["dtype="],
        "timeout_multiplier": 4.0,
        "timeout_constant": 5.0,
        "use_git_change_detection": False,
        "pytest_add_cli_args": ["-n", "0", "-p", "no:cacheprovider", *skip],
        "pytest_add_cli_args_test_selection": tests,
        "track_dependencies": False,
    }
    lines = [f"{key} = {json.dumps(value)}\n" for key, value in settings.items()]
    (copy / "pyproject.toml").write_text(
        (ROOT / "pyproject.toml").read_text("utf-8") + "\n[tool.mutmut]\n" + "".join(lines), encoding="utf-8"
    )
    return copy


class _Wordless(ast.NodeTransformer):
    """Takes every text out of a function: given as an argument it goes, elsewhere it is the same as any other."""

    def visit_Constant(self, node: ast.Constant) -> ast.Constant:
        return ast.Constant("") if node.value is None or isinstance(node.value, str) else node

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.Constant:
        return ast.Constant("")

    def visit_Call(self, node: ast.Call) -> ast.Call:
        self.generic_visit(node)
        node.args = [a for a in node.args if not (isinstance(a, ast.Constant) and a.value == "")]
        node.keywords = [k for k in node.keywords if not (isinstance(k.value, ast.Constant) and k.value.value == "")]
        return node


def _functions(nodes: list[ast.stmt]) -> Iterator[ast.FunctionDef]:
    for node in nodes:
        if isinstance(node, ast.FunctionDef):
            yield node
        elif isinstance(node, ast.ClassDef):
            yield from _functions(node.body)


def of_code(copy: Path, room: str, file: str, ending: list[str]) -> list[str]:
    """Return the names of those written changes whose number ends so and that change more than a text."""
    names = []
    for path in sorted((copy / "mutants" / "src" / "baywright" / room).glob(f"{file}.py")):
        bare: dict[str, str] = {}
        for function in _functions(ast.parse(path.read_text("utf-8")).body):
            name, function.name = function.name, "f"
            bare[name] = ast.dump(_Wordless().visit(function))
        for name, body in bare.items():
            stem, _, number = name.partition("__mutmut_")
            if number.isdigit() and body != bare[f"{stem}__mutmut_orig"] and any(number.endswith(e) for e in ending):
                names.append(f"baywright.{room}.{path.stem}.{name}")
    return names


def count(copy: Path) -> tuple[Counter[str], list[str]]:
    """Return how the trials so far ended and the names of the changes that no test noticed."""
    ends: Counter[str] = Counter()
    left = []
    for file in sorted((copy / "mutants").rglob("*.meta")):
        for name, code in json.loads(file.read_text("utf-8"))["exit_code_by_key"].items():
            end = "untried" if code is UNTRIED else "killed"
            if code == SURVIVED or code in UNREACHED:
                end = "survived" if code == SURVIVED else "reached by no test"
                left.append(name)
            ends[end] += 1
    return ends, left


def main() -> int:
    """Run as the command line asks; return mutmut's exit code."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("room", choices=sorted(TESTS))
    ask.add_argument("--file", default="*", help="one file of the room, for example loop")
    ask.add_argument("--tests", nargs="+", help="the tests to run, if not all quick ones of the room")
    ask.add_argument("--ending", default=["3", "8"], nargs="+", help='changes whose number ends so; "" for all of them')
    ask.add_argument("--texts", action="store_true", help="changes of texts only as well")
    ask.add_argument("--at-once", default="2", help="how many processes")
    given = ask.parse_args()
    copy = stage(given.room, given.file, given.tests or TESTS[given.room])
    names = [f"baywright.{given.room}.{given.file}.*__mutmut_*{end}" for end in given.ending]
    run = [sys.executable, "-m", "mutmut", "run", "--max-children", given.at_once]
    # Each trial is forked from a process that has worked already: threads of the number libraries would be lost in it.
    alone = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    if not given.texts:
        # Asked for a change that is none, mutmut writes them all and tries nothing.
        subprocess.run([*run, "none"], cwd=copy, env=os.environ | alone, capture_output=True)
        names = of_code(copy, given.room, given.file, given.ending)
    done = subprocess.run([*run, *names], cwd=copy, env=os.environ | alone)
    ends, left = count(copy)
    print(*left, sep="\n")
    print(", ".join(f"{number} {end}" for end, number in sorted(ends.items())))
    return done.returncode


if __name__ == "__main__":
    sys.exit(main())
