"""The command `baywright`: one file a command; each imports what it needs only when it runs."""

import io
import signal
import sys
from types import FrameType

import typer

from baywright.cli.stages import ByStage
from baywright.version import __version__

app = typer.Typer(
    name="baywright",
    cls=ByStage,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"baywright {__version__}")
        raise typer.Exit


@app.callback(
    epilog="A command ends with 0 if all is well, with 1 if what it checked fails, with 2 if its input can't be used. "
    "'baywright COMMAND --help' tells the rest. First steps: 'baywright new my-car.toml', put your figures in, then "
    "'baywright review my-car.toml' and 'baywright build my-car.toml'."
)
def _options(
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Print the version and stop."
    ),
) -> None:
    """Battery boxes, adapter plates and motor rails for electric conversions: from a job file to cut files."""


# Each registers its command on `app`.
from baywright.cli import (  # noqa: E402
    build,
    car,
    check,
    clear,
    compare,
    family,
    fill,
    mockup,
    moved,
    new,
    parts,
    pattern,
    place,
    review,
    scan,
    split,
    variants,
    wayin,
    why,
)

_signals: list[int] = []


def _stop(number: int, _frame: FrameType | None) -> None:
    """End on Ctrl-C and on a polite kill as on an error: whatever is half done is cleared away."""
    _signals.append(number)
    raise KeyboardInterrupt


def main() -> None:
    """Run the command line; bad input ends with its sentences on stderr and exit code 2."""
    from baywright.job.messages import BadInput, plain

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _stop)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal that knows no "±" gets a "?"
            stream.reconfigure(errors="replace")
    try:
        app()
    except BadInput as bad:
        print(bad, file=sys.stderr)
        sys.exit(2)
    except MemoryError:
        print("this needs more memory than there is: ask for less at a time, or close other programs", file=sys.stderr)
        sys.exit(2)
    except OSError as error:
        if error.filename is None:
            raise
        print(f"{plain(str(error.filename))}: can't be read or written: {error.strerror}", file=sys.stderr)
        sys.exit(2)
    except BaseException:
        if _signals:  # a library whose loading was interrupted says so in its own way
            print("stopped", file=sys.stderr)
            sys.exit(128 + _signals[0])
        raise


__all__ = [
    "app",
    "build",
    "car",
    "check",
    "clear",
    "compare",
    "family",
    "fill",
    "main",
    "mockup",
    "moved",
    "new",
    "parts",
    "pattern",
    "place",
    "review",
    "scan",
    "split",
    "variants",
    "wayin",
    "why",
]
