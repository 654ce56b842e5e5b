"""A study of many variants: spread over any standard executor, resumed where it was stopped, one table in the end."""

import csv
import hashlib
import io
import json
import os
import pickle
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from functools import lru_cache
from pathlib import Path
from typing import Any

from baywright.job.catalogue import KINDS
from baywright.job.messages import BadInput, Problem, shown
from baywright.job.variants import Variants
from baywright.variants.figures import head, row
from baywright.version import __version__

AT_ONCE = 8  # variants a task: seconds of work, so that sending it costs little and stopping loses little
_Rows = list[list[str]]


def run(
    study: Variants,
    out: Path,
    executor: Executor,
    abreast: int,
    progress: Callable[[int, int], None] = lambda _done, _total: None,
) -> int:
    """Reckon every variant of a study, write the table, and return how many of them had been done before.

    What is done is kept in a file beside the table, so that a run that was stopped goes on from there; it is removed
    when the table is whole. The table is the same however the work was spread or stopped.

    Args:
        study: what is varied.
        out: the table to write, CSV.
        executor: any executor of the standard interface: processes of this machine, or a cluster's.
        abreast: how many tasks the executor works on at a time.
        progress: called with how many are done, how many in all.

    Raises:
        BadInput: if the table can't be written, or the kept file belongs to another study.
    """
    kept = out.with_name(f"{out.name}.part")
    packed = pickle.dumps(study)
    mark = _mark(study)
    try:
        done = _resumed(kept, mark)
        before = len(done)
        progress(before, study.count)
        with kept.open("a", encoding="utf-8", newline="") as journal:
            if not before:
                journal.truncate(0)
                journal.write(json.dumps({"study": mark}) + "\n")
            for rows in _spread(executor, packed, [n for n in range(study.count) if n not in done], abreast):
                for one in rows:
                    done[int(one[0]) - 1] = one
                    journal.write(json.dumps(one, ensure_ascii=False) + "\n")
                journal.flush()
                progress(len(done), study.count)
        fresh = out.with_name(f"{out.name}.new")
        fresh.write_text(_table(study, done), encoding="utf-8", newline="")
        os.replace(fresh, out)
        kept.unlink()
    except OSError as error:
        raise BadInput([Problem(shown(out), None, "", f"can't be written: {error.strerror or error}")]) from None
    return before


def _spread(executor: Executor, packed: bytes, numbers: list[int], abreast: int) -> Iterator[_Rows]:
    """Yield rows as tasks end; only as many tasks wait as keep the executor busy, so that a study may be any size."""
    tasks = (numbers[at : at + AT_ONCE] for at in range(0, len(numbers), AT_ONCE))
    running: set[Future[_Rows]] = set()
    while True:
        while len(running) < 2 * abreast and (task := next(tasks, None)) is not None:
            running.add(executor.submit(rows_of, packed, task))
        if not running:
            return
        ended, running = wait(running, return_when=FIRST_COMPLETED)
        for one in ended:
            yield one.result()


def rows_of(packed: bytes, numbers: list[int]) -> _Rows:
    """Return the rows of some variants of a pickled study: what an executor runs, here or on another machine."""
    study = _unpacked(packed)
    return [row(study, number) for number in numbers]


@lru_cache(maxsize=1)
def _unpacked(packed: bytes) -> Variants:
    study = pickle.loads(packed)
    assert isinstance(study, Variants)
    return study


def _mark(study: Variants) -> str:
    """Return what tells one study from another: what is varied, the job, every table behind it, and the program."""
    every = study.job.catalogue.raw
    catalogue = {kind: {name: raw.data for name, raw in every[kind].items()} for kind in KINDS}
    whole: list[Any] = [__version__, study.job.digest, study.name, study.asks, study.styles, catalogue]
    return hashlib.sha256(json.dumps(whole, default=str, sort_keys=True).encode()).hexdigest()


def _resumed(kept: Path, mark: str) -> dict[int, list[str]]:
    """Return the rows that an earlier run has left, by number.

    Raises:
        BadInput: if they are another study's.
    """
    if not kept.exists():
        return {}
    # A run that was killed may have left half a line at the end; what follows it later starts on a line of its own.
    *lines, rest = kept.read_text(encoding="utf-8", errors="replace").split("\n")
    if not lines:
        return {}
    if lines[0] != json.dumps({"study": mark}):
        text = "was left by another study, or its job, tables or baywright have changed since: delete it to begin anew"
        raise BadInput([Problem(shown(kept), None, "", text)])
    if rest:
        with kept.open("r+b") as journal:
            journal.truncate(kept.stat().st_size - len(rest.encode("utf-8", errors="replace")))
    rows = [json.loads(line) for line in lines[1:]]
    return {int(one[0]) - 1: one for one in rows}


def _table(study: Variants, done: dict[int, list[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(head(study))
    writer.writerows(done[number] for number in range(study.count))
    return text.getvalue()
