"""What a shell may complete after a command's options: names read from the job file that is on the line already."""

import tomllib
from pathlib import Path

import typer


def box_names(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return the job's boxes."""
    return _named(ctx, incomplete, "boxes")


def bay_names(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return the job's bays."""
    return _named(ctx, incomplete, "bays")


def made_names(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return everything that the job makes: boxes, adapters, sets of rails."""
    return _named(ctx, incomplete, "boxes", "adapters", "rails")


def kind_names(incomplete: str) -> list[str]:
    """Return the kinds of parts."""
    from baywright.job.catalogue import KINDS

    return [kind for kind in KINDS if kind.startswith(incomplete)]


def part_names(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return the catalogue's rows of the kind that is on the line, those beside its job file too."""
    from baywright.job.catalogue import KINDS, load_catalogue
    from baywright.job.messages import BadInput

    kind, job = ctx.params.get("kind"), ctx.params.get("beside")
    try:
        catalogue = load_catalogue(Path(job).parent / "parts" if job else None)
    except BadInput:
        return []
    return [name for name in catalogue.names(kind) if name.startswith(incomplete)] if kind in KINDS else []


def _named(ctx: typer.Context, incomplete: str, *tables: str) -> list[str]:
    """Return the names in tables of the job file; none if it can't be read: a shell completes, it does not complain."""
    # An option that still waits for its value stops the reading of the line: its other words are then not yet sorted.
    job = ctx.params.get("job") or next(iter(ctx.args), "")
    try:
        data = tomllib.loads(Path(str(job)).read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return []
    found = [data.get(table) for table in tables]
    return [name for table in found if isinstance(table, dict) for name in table if name.startswith(incomplete)]
