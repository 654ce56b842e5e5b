"""Mutation testing of one room: is there a line that could be wrong and no test would notice?

    .venv/bin/uv run --group mutation python tests/mutate.py shape
    .venv/bin/uv run --group mutation python tests/mutate.py mechanics --file beam --tests tests/mechanics/test_beam.py

mutmut alters the room's functions one small change at a time and runs the tests that reach them. It wants the package
under src/, so a copy is set up in .mutants/; there `mutmut show NAME` says how a survivor differs, and a second run
goes on where the first stopped. Not part of the suite: a whole room takes from minutes to hours. By default every fifth
change is tried, the same ones on every run.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
from collections import Counter
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
    ask.add_argument("--at-once", default="2", help="how many processes")
    given = ask.parse_args()
    copy = stage(given.room, given.file, given.tests or TESTS[given.room])
    names = [f"baywright.{given.room}.{given.file}.*__mutmut_*{end}" for end in given.ending]
    run = [sys.executable, "-m", "mutmut", "run", *names, "--max-children", given.at_once]
    # Each trial is forked from a process that has worked already: threads of the number libraries would be lost in it.
    alone = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    done = subprocess.run(run, cwd=copy, env=os.environ | alone)
    ends, left = count(copy)
    print(*left, sep="\n")
    print(", ".join(f"{number} {end}" for end, number in sorted(ends.items())))
    return done.returncode


if __name__ == "__main__":
    sys.exit(main())
