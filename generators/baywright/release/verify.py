"""Every file read back and compared with the design, before a release counts: DXF here, STEP in `verify_step`."""

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.piece.extrusion import Extrusion
from baywright.piece.numbering import Part
from baywright.piece.plate import Plate
from baywright.release import sheet
from baywright.release.drilling import drilled_faces
from baywright.release.fault import ReleaseFault
from baywright.shape.loop import Loop, area, as_circle, bounds, lie, perimeter
from baywright.shape.profile import profile

# A file keeps nine decimals of a millimetre: what is read back agrees far closer than this.
_NEAR = 1e-6  # mm, for positions and lengths
_SHARE = 1e-9  # for areas


def check_cut_file(path: Path, part: Part, layers: str) -> Any:
    """Compare a plate's cut file, read back, with the plate, and return it as it was read.

    Args:
        path: the file.
        part: the plate.
        layers: "by meaning" or "cut only", as it was written.

    Raises:
        ReleaseFault: at the first thing that does not agree.
    """
    plate = part.piece
    assert isinstance(plate, Plate)
    doc = sheet.read(path)
    declared = sheet.CUT_ONLY if layers == "cut only" else sheet.LAYERS
    _check_drawing(doc, path, set(declared))
    if layers == "cut only":
        loops = _loops(doc, path, sheet.CUT)
        if not loops:
            raise ReleaseFault(path.name, "nothing is drawn in it")
        outer = max(loops, key=lambda loop: abs(area(loop)))
        holes = [loop for loop in loops if loop is not outer]
    else:
        outers, holes = _loops(doc, path, sheet.OUTER_CUT), _loops(doc, path, sheet.INNER_CUT)
        _agree(path, "outlines", len(outers), 1)
        outer = outers[0]
        blind = _loops(doc, path, sheet.DRILL)
        _same_loops(path, "blind holes", blind, [hole.loop for _, hole in plate.pockets()])
    _same_loops(path, "holes", holes, list(plate.profile.holes))
    read = profile(outer, holes)
    _close(path, "area", read.area(), plate.profile.area(), _SHARE * abs(area(outer)))
    _close(path, "length of cut", read.cut_length(), plate.profile.cut_length(), _NEAR * (1 + len(holes)))
    for name, value, wanted in zip(
        ("least x", "least y", "most x", "most y"), read.bounds(), plate.profile.bounds(), strict=True
    ):
        _close(path, name, value, wanted, _NEAR)
    _same_loops(path, "outlines", [outer], [plate.profile.outer])  # nor its mirror image
    return doc


def check_template(path: Path, part: Part, face_name: str) -> Any:
    """Compare a drilling template, read back, with the extrusion's face, and return it as it was read.

    Raises:
        ReleaseFault: at the first thing that does not agree.
    """
    piece = part.piece
    assert isinstance(piece, Extrusion)
    doc = sheet.read(path)
    _check_drawing(doc, path, {sheet.DRILL, sheet.NOTE})
    face, holes = next((face, holes) for name, face, holes in drilled_faces(piece) if name == face_name)
    _same_loops(path, "holes", _loops(doc, path, sheet.DRILL), [hole.loop for hole in holes])
    edges = _loops(doc, path, sheet.NOTE)
    _agree(path, "face outlines", len(edges), 1)
    x0, y0, x1, y1 = bounds(edges[0])
    for name, value, wanted in (("length", x1 - x0, face.width), ("width", y1 - y0, face.height)):
        _close(path, name, value, wanted, _NEAR)
    return doc


def _check_drawing(doc: Any, path: Path, declared: set[str]) -> None:
    """Compare units, layers and kinds of entity, and let the reader's own audit look for faults."""
    _agree(path, "$INSUNITS", doc.header.get("$INSUNITS"), 4)
    _agree(path, "$MEASUREMENT", doc.header.get("$MEASUREMENT"), 1)
    faults = doc.audit()
    if faults.has_errors or faults.has_fixes:
        listed = "; ".join(e.message for e in (*faults.errors, *faults.fixes))
        raise ReleaseFault(path.name, f"does not pass the reader's audit: {listed}")
    known = {layer.dxf.name for layer in doc.layers}
    for entity in doc.modelspace():
        layer = entity.dxf.layer
        if layer not in declared or layer not in known:
            raise ReleaseFault(path.name, f"something stands on the layer '{layer}', which is not one of its own")


def _loops(doc: Any, path: Path, layer: str) -> list[Loop]:
    """Return the loops on a layer; on a layer that is cut, anything else is a fault."""
    found = []
    for entity in doc.modelspace().query(f'*[layer=="{layer}"]'):
        loop = sheet.loop_of_entity(entity)
        if loop is not None:
            found.append(loop)
        elif layer in (sheet.CUT, sheet.OUTER_CUT, sheet.INNER_CUT):
            raise ReleaseFault(path.name, f"an open or foreign {entity.dxftype()} stands on the layer '{layer}'")
    return found


def _figures(loops: list[Loop]) -> NDArray[np.float64]:
    """Return what tells loops apart, (n, 9): circle or not, where, how large, how long, how its area lies."""
    rows = [(1e6 * (as_circle(loop) is not None), *bounds(loop), perimeter(loop), *lie(loop)) for loop in loops]
    return np.array(rows, dtype=float).reshape(-1, 9)


def _same_loops(path: Path, what: str, read: list[Loop], wanted: list[Loop]) -> None:
    _agree(path, f"number of {what}", len(read), len(wanted))
    if not wanted:
        return
    round_read = sum(as_circle(loop) is not None for loop in read)
    _agree(path, f"number of round {what}", round_read, sum(as_circle(loop) is not None for loop in wanted))
    apart = np.abs(_figures(read)[:, None] - _figures(wanted)[None]).max(axis=2)
    # Each has its partner, both ways.
    if max(apart.min(axis=0).max(), apart.min(axis=1).max()) > 10 * _NEAR:
        raise ReleaseFault(path.name, f"its {what} are not where the design has them")


def _agree(path: Path, what: str, value: object, wanted: object) -> None:
    if value != wanted:
        raise ReleaseFault(path.name, f"{what}: {value} in the file, {wanted} in the design")


def _close(path: Path, what: str, value: float, wanted: float, within: float) -> None:
    if not abs(value - wanted) <= within:
        raise ReleaseFault(path.name, f"{what}: {value:.9g} in the file, {wanted:.9g} in the design")
