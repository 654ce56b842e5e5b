"""Cut files read by two DXF readers that share no code with the writer, nor with each other.

Needs node and the npm packages `dxf` (MIT) and `dxf-parser` (MIT); the variable BAYWRIGHT_NPM names the folder whose
node_modules holds them.
"""

import json
import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from baywright.piece.numbering import distinct
from baywright.piece.plate import Plate
from baywright.release.dxf import write_cut_file
from baywright.shape.loop import circle
from baywright.shape.profile import profile

SCRIPT = Path(__file__).resolve().with_name("read_dxf.mjs")


@pytest.fixture(scope="session")
def npm() -> str:
    """The folder with the two readers."""
    home = os.environ.get("BAYWRIGHT_NPM", "")
    if shutil.which("node") is None:
        pytest.skip("node is not installed")
    if not all((Path(home or ".") / "node_modules" / name).is_dir() for name in ("dxf", "dxf-parser")):
        pytest.skip("BAYWRIGHT_NPM names no folder with node_modules/dxf and node_modules/dxf-parser")
    return str(Path(home or ".").resolve())


@pytest.mark.parametrize("layers", ["by meaning", "cut only"])
@pytest.mark.parametrize("version", ["R2000", "R2010"])
def test_both_readers_find_the_plates(npm, box, make_plate, make_cutter, alone, tmp_path, layers, version):
    cutter = make_cutter(layers=layers, dxf_version=version)
    wanted = {}
    jobs = [(box, part) for part in distinct(box) if isinstance(part.piece, Plate)]
    for seed in range(12):
        assembly = alone(make_plate(seed), f"random {seed}")
        jobs.append((assembly, distinct(assembly)[0]))
    for assembly, part in jobs:
        wanted[str(write_cut_file(part, assembly, tmp_path, cutter, "A"))] = part.piece
    done = subprocess.run(["node", str(SCRIPT), npm, *wanted], capture_output=True, text=True, check=True)
    for read in json.loads(done.stdout):
        plate = wanted[read["file"]]
        for reader in ("dxf", "dxf-parser"):
            check(read[reader], plate, layers)


def check(read, plate, layers):
    assert read["units"] == 4
    outer_layer, inner_layer = ("CUT", "CUT") if layers == "cut only" else ("OUTER_CUT", "INNER_CUT")
    cut = [e for e in read["entities"] if e["layer"] in (outer_layer, inner_layer)]
    if layers == "cut only":
        assert len(cut) == len(read["entities"])
    assert {e["type"] for e in cut} <= {"CIRCLE", "LWPOLYLINE"}
    assert all(e["closed"] for e in cut if e["type"] == "LWPOLYLINE")
    loops = [circle(*e["circle"]) if e["circle"] else np.array(e["points"]) for e in cut]
    whole = max(loops, key=lambda loop: np.ptp(loop[:, 0]) + np.ptp(loop[:, 1]))
    metal = profile(whole, [loop for loop in loops if loop is not whole])
    assert len(loops) == 1 + len(plate.profile.holes)
    assert metal.area() == pytest.approx(plate.profile.area(), rel=1e-9)
    assert metal.cut_length() == pytest.approx(plate.profile.cut_length(), rel=1e-9)
    assert metal.bounds() == pytest.approx(plate.profile.bounds(), abs=1e-6)
    circles = sum(e["type"] == "CIRCLE" for e in cut)
    assert circles == sum(len(loop) == 2 for loop in (plate.profile.outer, *plate.profile.holes))
