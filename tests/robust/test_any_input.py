"""Any input ends with 0, 1 or 2, a sentence and no traceback, in bounded time and memory, writing only where told.

Some seeds in a run of the suite; many more by hand: BAYWRIGHT_HOSTILE=5000 pytest tests/robust/test_any_input.py
Bounds: 4 GB of address space, 60 s of processor time a case; a megabyte a file, and the models' own limits of lists.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

COUNT = int(os.environ.get("BAYWRIGHT_HOSTILE", "20"))
FIRST = int(os.environ.get("BAYWRIGHT_HOSTILE_FIRST", "0"))


@pytest.mark.skipif(sys.platform != "linux", reason="limits the Linux way")
def test_hostile_input_ends_in_sentences():
    program = Path(__file__).with_name("meet.py")
    run = subprocess.run(
        [sys.executable, str(program), str(FIRST), str(COUNT)], capture_output=True, text=True, check=False
    )
    lines = [json.loads(line) for line in run.stdout.splitlines()]
    bad = [line for line in lines if line.get("wrong")]
    assert not bad, json.dumps(bad[:5], indent=1)
    assert run.returncode == 0, f"ended while meeting {lines[-1]}: {run.stderr[-2000:]}"
    assert sum("wrong" in line for line in lines) == COUNT
