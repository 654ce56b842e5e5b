"""Kill builds at random moments and look at what is left; one line a kill.

    python tests/robust/kills.py COUNT [SEED]

After every kill the release must be the last whole one or the new whole one, no helper process may live on, and the
next build must clear away what was half done.
"""

import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
JOB = ROOT / "shared" / "jobs" / "adapter-truck-box.toml"
SIGNALS = ("SIGKILL", "SIGTERM", "SIGINT", "SIGKILL of the group", "SIGINT of the group", "SIGKILL of a helper")


def job_file(folder: Path, revision: str) -> Path:
    """Return a copy of the demo job under a revision of its own, so that two releases differ."""
    path = folder / f"job-{revision}.toml"
    path.write_text(
        JOB.read_text(encoding="utf-8").replace("[job]", f'[job]\nrevision = "{revision}"'), encoding="utf-8"
    )
    return path


def start(job: Path, out: Path) -> "subprocess.Popen[str]":
    """Start a build in a process group of its own."""
    command = [sys.executable, "-c", "from baywright.cli import main; main()", "build", str(job), "--out", str(out)]
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True, cwd=out.parent
    )


def group(leader: int) -> list[int]:
    """Return the living processes of a group."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                state, _parent, number = (entry / "stat").read_text().rpartition(")")[2].split()[:3]
            except (OSError, ValueError):
                continue
            if int(number) == leader and state != "Z":
                found.append(int(entry.name))
    return found


def strike(run: "subprocess.Popen[str]", how: str, rng: random.Random) -> None:
    """Send a build a signal: to itself, to its whole group, or to one of its helpers."""
    number = getattr(signal, how.split()[0])
    if how.endswith("group"):
        os.killpg(run.pid, number)
    elif how.endswith("helper"):
        helpers = [pid for pid in group(run.pid) if b"spawn_main" in Path(f"/proc/{pid}/cmdline").read_bytes()]
        if helpers:
            os.kill(rng.choice(helpers), number)
    else:
        run.send_signal(number)


def left(run: "subprocess.Popen[str]", out: Path) -> tuple[str, str]:
    """Return what a struck build said, and what is wrong with what it left, "" if nothing is."""
    from baywright.release.manifest import verify_manifest

    said, _ = run.communicate(timeout=300)
    wrong = []
    end = time.monotonic() + 20
    while (living := group(run.pid)) and time.monotonic() < end:
        time.sleep(0.2)
    if living:
        wrong.append(f"helpers live on: {living}")
        for pid in living:
            os.kill(pid, signal.SIGKILL)
    if "Traceback" in said:
        wrong.append("a traceback was printed")
    wrong += verify_manifest(out)[:3]
    return said, "; ".join(wrong)


def litter(out: Path) -> list[str]:
    """Return what stands beside a release that a finished build should not leave."""
    return sorted(path.name for path in out.parent.glob(f".{out.name}*"))


def main() -> None:
    """Kill builds; print a line of JSON for each."""
    count = int(sys.argv[1])
    rng = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    bad = 0
    with tempfile.TemporaryDirectory() as place:
        out = Path(place) / "out"
        jobs = {revision: job_file(Path(place), revision) for revision in "AB"}
        began = time.monotonic()
        run = start(jobs["A"], out)
        said, wrong = left(run, out)
        assert run.returncode in (0, 1), said
        assert not wrong, wrong
        whole = time.monotonic() - began
        for number in range(count):
            revision = "BA"[number % 2]
            before = json.loads((out / "manifest.json").read_text())["revision"]
            how = SIGNALS[number % len(SIGNALS)]
            moment = rng.uniform(0, 1.1 * whole)
            run = start(jobs[revision], out)
            try:
                run.wait(moment)
            except subprocess.TimeoutExpired:
                strike(run, how, rng)
            said, wrong = left(run, out)
            after = json.loads((out / "manifest.json").read_text())["revision"]
            if after not in (before, revision):
                wrong += f"; revision {after}"
            bad += bool(wrong)
            row = {"kill": number, "how": how, "after s": round(moment, 1), "code": run.returncode, "before": before,
                   "now": after, "left": litter(out), "wrong": wrong, "said": said[-300:] if wrong else ""}  # fmt: skip
            print(json.dumps(row), flush=True)
        run = start(jobs["A"], out)
        _, wrong = left(run, out)
        print(json.dumps({"last build": run.returncode, "left": litter(out), "wrong": wrong, "bad": bad}), flush=True)


if __name__ == "__main__":
    main()
