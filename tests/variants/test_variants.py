"""A study of variants: what is asked, what a row says, spread and stopped in any way, always the same table."""

import csv
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from pathlib import Path

import pytest

from baywright.box.generate import generate
from baywright.job.messages import BadInput
from baywright.job.read import read_job
from baywright.job.variants import read_variants
from baywright.rooms import room
from baywright.variants.study import run
from baywright.workers import workers

JOB = room("shared") / "jobs" / "estate.toml"
SMALL = 'box = "front"\n[vary]\nmodule = ["m590"]\ncount = "1-2"\n[style]\nwall.thickness = ["3 mm", "5 mm"]\n'


@pytest.fixture(scope="module")
def job():
    return read_job(JOB)


def asked(tmp_path: Path, job, text: str = SMALL):
    file = tmp_path / "varied.toml"
    file.write_text(text, encoding="utf-8")
    return read_variants(file, job)


@pytest.fixture(scope="module")
def whole(tmp_path_factory, job):
    """The small study's table, reckoned in one go by one thread."""
    folder = tmp_path_factory.mktemp("whole")
    with ThreadPoolExecutor(1) as one:
        assert run(asked(folder, job), folder / "v.csv", one, 1) == 0
    assert sorted(p.name for p in folder.iterdir()) == ["v.csv", "varied.toml"]
    return (folder / "v.csv").read_bytes()


def rows(table: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(table.decode().splitlines()))


def test_every_combination_is_a_row_in_order(whole):
    found = rows(whole)
    assert [row["number"] for row in found] == [str(n) for n in range(1, 5)]
    want = [(m, n, t) for m in ("m590",) for n in ("1", "2") for t in ("3 mm", "5 mm")]
    assert [(row["module"], row["count"], row["wall.thickness"]) for row in found] == want


def test_a_row_says_what_the_design_says(whole, job):
    found = next(
        row for row in rows(whole) if (row["module"], row["count"], row["wall.thickness"]) == ("m590", "2", "3 mm")
    )
    ask = job.boxes["front"].model_copy(update={"count": 2})
    style = job.catalogue.style(ask.style)
    thin = style.model_copy(update={"wall": style.wall.model_copy(update={"thickness": 3.0})})
    box = generate("front", ask, job.catalogue.with_row("style", thin))
    assert float(found["mass"]) == pytest.approx(box.mass_properties.mass, rel=1e-5)
    assert [float(found[f"centroid_{a}"]) for a in "xyz"] == pytest.approx(list(box.mass_properties.centroid), rel=1e-5)
    assert [float(found[k]) for k in ("length", "width")] == pytest.approx(box.layout.outside[:2])
    assert float(found["energy_kwh"]) == pytest.approx(2 * 84 * 44 / 1000)  # the module's 84 Ah at 44 V
    assert found["fit_verdict"] == "pass"


def test_what_cannot_be_made_says_why_and_no_more(whole):
    found = [row for row in rows(whole) if row["made"] == "no"]
    assert found
    for row in found:
        assert row["why"].startswith("fittings: ")
        assert not row["mass"]


def test_thicker_walls_are_heavier(whole):
    made = {
        (r["module"], r["count"], r["wall.thickness"]): float(r["metal"]) for r in rows(whole) if r["made"] == "yes"
    }
    pairs = [(mass, made[m, n, "5 mm"]) for (m, n, t), mass in made.items() if t == "3 mm" and (m, n, "5 mm") in made]
    assert pairs
    assert all(thin < thick for thin, thick in pairs)


def test_processes_make_the_same_table(tmp_path, job, whole):
    with workers(2) as pool:
        run(asked(tmp_path, job), tmp_path / "v.csv", pool, 2)
    assert (tmp_path / "v.csv").read_bytes() == whole


class Stopped(Exception):
    pass


class Gives(Executor):
    """An executor that reckons at once, and stops the study after some tasks."""

    def __init__(self, tasks: int) -> None:
        self.tasks = tasks

    def submit(self, fn, /, *args, **kwargs):
        if self.tasks == 0:
            raise Stopped
        self.tasks -= 1
        found: Future = Future()
        found.set_result(fn(*args, **kwargs))
        return found


def test_a_stopped_study_goes_on(tmp_path, job, whole, monkeypatch):
    monkeypatch.setattr("baywright.variants.study.AT_ONCE", 1)
    study, out = asked(tmp_path, job), tmp_path / "v.csv"
    with pytest.raises(Stopped):
        run(study, out, Gives(3), 1)
    assert not out.exists()
    kept = tmp_path / "v.csv.part"
    kept.write_bytes(kept.read_bytes()[:-7])  # a kill may leave half a line
    seen: list[tuple[int, int]] = []
    assert run(study, out, Gives(-1), 1, lambda done, of: seen.append((done, of))) in (1, 2)
    assert out.read_bytes() == whole
    assert seen[-1] == (4, 4)
    assert not kept.exists()


def test_what_another_study_left_is_not_mixed_in(tmp_path, job):
    out = tmp_path / "v.csv"
    (tmp_path / "v.csv.part").write_text('{"study": "0"}\n["1"]\n')
    with pytest.raises(BadInput, match=r"v\.csv\.part: was left by another study"):
        run(asked(tmp_path, job), out, Gives(-1), 1)


@pytest.mark.skipif(os.name != "posix", reason="kills a process the POSIX way")
def test_a_killed_study_goes_on(tmp_path, whole):
    (tmp_path / "varied.toml").write_text(SMALL, encoding="utf-8")
    one_a_task = "from baywright.variants import study; study.AT_ONCE = 1; from baywright.cli import main; main()"
    command = [sys.executable, "-c", one_a_task, "variants", str(JOB), "varied.toml", "--out", "v.csv",
               "--processes", "1"]  # fmt: skip
    kept = tmp_path / "v.csv.part"
    first = subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    while first.poll() is None and (not kept.exists() or kept.read_text().count("\n") < 2):
        time.sleep(0.02)
    first.send_signal(signal.SIGKILL)
    assert first.wait() != 0
    again = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert again.returncode == 0, again.stderr
    assert "were done before" in again.stdout
    assert (tmp_path / "v.csv").read_bytes() == whole
    assert not kept.exists()


def test_a_cluster_makes_the_same_table(tmp_path, job, whole):
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None, scheduler_port=0
        ) as cluster,
        distributed.Client(cluster) as client,
        client.get_executor() as pool,
    ):
        run(asked(tmp_path, job), tmp_path / "v.csv", pool, 1)
    assert (tmp_path / "v.csv").read_bytes() == whole


def test_declared_inches_count_for_what_is_varied_alone(tmp_path):
    inches = JOB.read_text(encoding="utf-8").replace("at = [30, 0, 345]", 'at = ["30 mm", 0, "345 mm"]')
    (tmp_path / "job.toml").write_text(inches, encoding="utf-8")
    one = read_job(tmp_path / "job.toml")
    study = asked(tmp_path, one, '[vary]\nat = [[0, 0, 340], ["1 in", 0, 345]]\nservice_depth = [100]\n')
    assert [study.box(n)[0].at for n in range(2)] == [(0, 0, 340), (25.4, 0, 345)]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "varies nothing"),
        ("[vary]\ncuont = [1]\n", "varied.toml:2: vary.cuont: unknown key; did you mean 'count'"),
        ("[vary]\ncount = 3\n", "count: expected a list of values to try"),
        ("[vary]\ncount = []\n", "count: expected a list of values to try"),
        ('[vary]\ncount = "0-3"\n', "varied.toml:2: vary.count: must be at least 1, got 0"),
        ('[vary]\nmodule = ["m591"]\n', "unknown module 'm591'; did you mean 'm590'"),
        ('[vary]\nbay = ["boot"]\n', "unknown bay 'boot'"),
        ('box = "frnt"\n[vary]\ncount = [1]\n', "varied.toml:1: box: unknown box 'frnt'; did you mean 'front'"),
        ('[style]\nwall.thicknes = ["2 mm"]\n', "wall.thicknes: unknown key; did you mean 'thickness'"),
        ("[style]\nwal.thickness = [2]\n", "wal.thickness: a style has no such key"),
        ('[style]\nadhesive = ["glue"]\n', "adhesive: unknown adhesive 'glue'"),
        (
            "[vary]\n" + "".join(f'{k} = "1-60"\n' for k in ("count",)) + "yaw = [" + "1, " * 20000 + "]\n",
            "at most 1,000,000",
        ),
    ],
)
def test_what_cannot_be_varied_is_one_sentence(tmp_path, job, text, said):
    with pytest.raises(BadInput) as bad:
        asked(tmp_path, job, text)
    assert said in str(bad.value)


def test_the_shipped_study_is_of_ten_thousand(job):
    assert read_variants(room("shared") / "variants" / "estate-front.toml", job).count == 10_368
