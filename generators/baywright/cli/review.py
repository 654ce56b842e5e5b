"""`baywright review`: what is right or wrong about a job, without writing a file."""

from pathlib import Path
from typing import Annotated

import typer

from baywright.cli import app

JobFile = Annotated[Path, typer.Argument(help="The job file, such as shared/jobs/estate.toml.", show_default=False)]


@app.command()
def review(
    job: JobFile,
    as_json: Annotated[bool, typer.Option("--json", help="Print everything as JSON, for programs.")] = False,
    everything: Annotated[
        bool, typer.Option("--all", help="List what passes too, not only what needs a look.")
    ] = False,
    reason: Annotated[str, typer.Option("--why", help="Only show how a member's strength comes about.")] = "",
) -> None:
    """Check a job: boxes, bays and the car's balance, worst first. Nothing is written.

    Ends with 0 if nothing fails, 1 if something does, 2 if the job file can't be used.
    """
    if reason:
        from baywright.cli.why import why

        why(job, reason)
        return
    from baywright.job.read import read_job

    asked = read_job(job)
    # Imported when the job has been read: a slip in it is told at once.
    from baywright.design import design_job
    from baywright.review import review_job

    result = review_job(design_job(asked))
    if as_json:
        from baywright.cli.machine import as_text

        print(as_text(result))
    else:
        from baywright.cli.report import print_review

        print_review(result, everything)
    if result.verdict == "fail":
        raise typer.Exit(1)
