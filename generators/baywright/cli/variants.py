"""`baywright variants`: a box of a job in many variants, as one table."""

import os
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.examples import examples
from baywright.cli.review import JobFile


@app.command(
    epilog=examples(
        "variants shared/jobs/estate.toml shared/variants/estate-front.toml --out front.csv",
        "variants shared/jobs/estate.toml shared/variants/estate-front.toml --processes 1",
    )
)
def variants(
    job: JobFile,
    varied: Annotated[
        Path,
        typer.Argument(
            help="What is varied, such as shared/variants/estate-front.toml.", metavar="VARIED", show_default=False
        ),
    ],
    out: Annotated[Path, typer.Option("--out", help="The table to write: a .csv file.", metavar="FILE")] = Path(
        "variants.csv"
    ),
    processes: Annotated[
        int,
        typer.Option("--processes", min=0, max=1024, help="How many processes; as many as cores if 0.", metavar="N"),
    ] = 0,
    cluster: Annotated[
        str,
        typer.Option(
            "--cluster",
            help="Work on a dask cluster: its scheduler's address, such as tcp://host:8786.",
            metavar="ADDRESS",
        ),
    ] = "",
) -> None:
    """Reckon a box in every combination of what a file varies: size, mass, fit, strength; one row a variant.

    Reads the job and the list of what is varied; writes one table, in mm, kg and shares used. A run that is stopped
    goes on from there when it is started again, and ends with the same table. Ends with 0 when the table is written, 2
    if the job or what is varied can't be used.
    """
    from baywright.job.messages import BadInput, Problem, shown
    from baywright.job.read import read_job
    from baywright.job.variants import read_variants

    asked = read_job(job)
    study = read_variants(varied, asked)
    if out.suffix.lower() != ".csv":
        raise BadInput([Problem("--out", None, "", f"'{out}' must end in .csv")])
    if not out.absolute().parent.is_dir():
        raise BadInput([Problem("--out", None, "", f"there is no folder '{shown(out.absolute().parent)}'")])

    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    from baywright.cli.show import console
    from baywright.variants.study import run

    count = processes or os.cpu_count() or 1
    columns = (TextColumn("variants"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with _executor(cluster, count) as (executor, abreast), Progress(*columns, console=console(stderr=True)) as bar:
        task = bar.add_task("", total=study.count)
        before = run(study, out, executor, abreast, lambda done, _: bar.update(task, completed=done))
    text = f"{study.count} variants of box {study.name} in {shown(out)}"
    console().print(text + (f"; {before} of them were done before" if before else ""))


@contextmanager
def _executor(cluster: str, count: int) -> Iterator[tuple[Executor, int]]:
    """Yield processes of this machine, or a cluster's executor, and how many tasks it works on at a time.

    Raises:
        BadInput: if dask is not installed, or its scheduler does not answer.
    """
    from baywright.job.messages import BadInput, Problem
    from baywright.workers import workers

    if not cluster:
        with workers(count) as pool:
            yield pool, count
        return
    try:
        from distributed import Client
    except ImportError:
        text = "needs the library dask.distributed: install baywright with its extra 'cluster'"
        raise BadInput([Problem("--cluster", None, "", text)]) from None
    try:
        client = Client(cluster, timeout=10)
    except (OSError, ValueError, TimeoutError) as error:
        text = f"no scheduler answers at '{cluster}' ({type(error).__name__})"
        raise BadInput([Problem("--cluster", None, "", text)]) from None
    with client, client.get_executor() as pool:
        yield pool, sum(client.nthreads().values()) or 1
