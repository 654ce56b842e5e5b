"""`baywright build`: review a job, then write its release."""

from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app
from baywright.cli.complete import made_names
from baywright.cli.examples import examples
from baywright.cli.review import JobFile


@app.command(
    epilog=examples(
        "build shared/jobs/estate.toml",
        "build shared/jobs/estate.toml --only front --out front-for-the-cutter",
    )
)
def build(
    job: JobFile,
    only: Annotated[
        str,
        typer.Option(
            "--only",
            help="Release one box, adapter or set of rails of the job, into a folder of its own.",
            metavar="NAME",
            autocompletion=made_names,
        ),
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="Where the release goes; outputs/JOB if left out.", metavar="FOLDER", show_default=False
        ),
    ] = None,
    anyway: Annotated[bool, typer.Option("--anyway", help="Write files even though the review fails.")] = False,
) -> None:
    """Review a job, then write its release: cut files, solids, lists, mass, pictures, manifest.

    Reads the job and what it names; writes one folder, listed in its manifest.json. Open its report.html first. The
    release replaces an earlier one whole, or not at all. Every file is read back and compared with the design.
    Ends with 0 if all is well, 1 if the review fails (nothing is written unless --anyway), 2 if the job can't be used.
    """
    from baywright.job.messages import BadInput, unknown
    from baywright.job.read import read_job

    asked = read_job(job)
    names = [*asked.boxes, *asked.adapters, *asked.rails]
    if only and only not in names:
        raise BadInput([asked.problem(("boxes",), unknown("box, adapter or set of rails", only, names))])
    # Imported when the job has been read: a slip in it is told at once.
    from baywright.cli.report import print_review
    from baywright.cli.show import console
    from baywright.design import design_job
    from baywright.review import review_job

    result = review_job(design_job(asked))
    print_review(result)
    out_console = console()
    if result.verdict == "fail" and not anyway:
        out_console.print("Nothing was written: mend what fails, or add --anyway.")
        raise typer.Exit(1)
    target = out or Path("outputs") / (f"{asked.name}-{only}" if only else asked.name)

    from rich.progress import BarColumn, Progress, TextColumn

    from baywright.release.cautions import CAUTIONS
    from baywright.release.fault import ReleaseFault
    from baywright.release.job import release_job

    try:
        with Progress(
            TextColumn("{task.description}", markup=False), BarColumn(), console=console(stderr=True), transient=True
        ) as bar:
            task = bar.add_task("starting", total=None)
            files = release_job(
                result,
                target,
                only=only or None,
                progress=lambda text, done, total: bar.update(task, description=text, completed=done, total=total),
            )
    except ReleaseFault as fault:
        console(stderr=True).print(f"no release was made: {fault}")
        raise typer.Exit(1) from None
    size = sum(path.stat().st_size for path in files)
    out_console.print(
        f"\n{len(files)} files, {size / 1e6:.1f} MB, in {target}; every file was read back.", markup=False
    )
    out_console.print(f"Open {target / 'report.html'} in a browser: everything in 3D, and every file.", markup=False)
    out_console.print("\nBefore you cut:", style="bold")
    for caution in CAUTIONS:
        out_console.print(f"- {caution}")
    if result.verdict == "fail":
        raise typer.Exit(1)
