"""Commands as a person runs them, without the wait for a fresh Python: what `main` prints and how it ends."""

import io
import signal
import sys
from contextlib import chdir, redirect_stderr, redirect_stdout
from pathlib import Path
from subprocess import CompletedProcess
from unittest.mock import patch

from baywright.cli import main


def run(*words: str | Path, cwd: Path) -> "CompletedProcess[str]":
    """Run a command in a folder of its own and return what it said; tests/cli/test_commands.py starts processes."""
    out, err, code = io.StringIO(), io.StringIO(), 0
    handlers = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    argv = ["baywright", *map(str, words)]
    try:
        with chdir(cwd), patch.object(sys, "argv", argv), redirect_stdout(out), redirect_stderr(err):
            main()
    except SystemExit as end:
        code = int(end.code or 0)
    finally:
        for number, handler in handlers.items():
            signal.signal(number, handler)
    return CompletedProcess(argv, code, out.getvalue(), err.getvalue())
