"""Meet hostile cases with the command line, in one process with bounds on memory and time; one line of JSON a case.

    python tests/robust/meet.py FIRST COUNT

A case is a finding if it ends with anything but 0, 1 or 2, prints a traceback, takes longer than it may, or touches a
file outside the folder that it was told to write into.
"""

import contextlib
import faulthandler
import io
import json
import os
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import hostile

MEMORY = 4 << 30  # bytes of address space
# Processor seconds a case: of one command at its longest on a sound job about ten times as much as it takes.
SECONDS = 60


class TooLong(BaseException):
    """The case took longer than it may."""


def snapshot(folder: Path) -> dict[str, tuple[int, int]]:
    """Return every file below a folder, the output folder apart, with its size and time."""
    found = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if not name.startswith(f"case/{hostile.OUT}"):
            status = path.lstat()
            found[name] = (status.st_size, status.st_mtime_ns) if path.is_file() else (0, 0)
    return found


def meet(seed: int) -> dict[str, object]:
    """Run one case; return what came of it."""
    from baywright.cli import main

    one = hostile.case(seed)
    said = io.StringIO()
    wrong = ""
    code: object = 0
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "case"
        one.lay_out(folder)
        before = snapshot(Path(place))
        os.chdir(folder)
        sys.argv = ["baywright", *one.args]
        start = time.process_time()
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        try:
            with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
                main()
        except SystemExit as end:
            code = end.code or 0
        except TooLong:
            wrong = "too long\n" + traceback.format_exc(limit=-12)
        except BaseException:
            wrong = traceback.format_exc(limit=-6)
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
            os.chdir("/")
        took = time.process_time() - start
        after = snapshot(Path(place))
    text = said.getvalue()
    if not wrong and code not in (0, 1, 2):
        wrong = f"exit code {code!r}"
    if not wrong and "Traceback" in text:
        wrong = "a traceback was printed"
    if not wrong and code == 2 and not text.strip():
        wrong = "ended with 2 without a word"
    insides = ("[type=", "pydantic", "ValidationError", "<class '", "object at 0x")
    if not wrong and one.kind != "words" and any(sign in text for sign in insides):
        wrong = "speaks of the program's own insides"
    if not wrong and re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]", text):
        wrong = "a control character reaches the terminal"
    if before != after:
        wrong += f"\nfiles outside the output folder: {sorted(set(before.items()) ^ set(after.items()))}"
    return {"seed": seed, "kind": one.kind, "args": one.args, "code": code, "s": round(took, 2), "wrong": wrong,
            "said": text[-2000:] if wrong else ""}  # fmt: skip


def _too_long(*_: object) -> None:
    raise TooLong


def run(first: int, count: int) -> None:
    """Meet `count` cases from a seed on; print one line of JSON a case."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.signal(signal.SIGPROF, _too_long)
    faulthandler.enable(sys.__stderr__)
    for seed in range(first, first + count):
        print(json.dumps({"begins": seed}), file=sys.__stdout__, flush=True)
        print(json.dumps(meet(seed)), file=sys.__stdout__, flush=True)


if __name__ == "__main__":
    run(int(sys.argv[1]), int(sys.argv[2]))
