"""What every DXF of a release shares: a drawing in millimetres with declared layers, written the same every time."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from baywright.release.fault import ReleaseFault
from baywright.shape.loop import Loop, as_circle

if TYPE_CHECKING:
    from ezdxf.document import Drawing

# Layers by what the shop does with them, each with a colour number of the format.
OUTER_CUT, INNER_CUT, MARK, DRILL, NOTE = "OUTER_CUT", "INNER_CUT", "MARK", "DRILL", "NOTE"
LAYERS = {OUTER_CUT: 7, INNER_CUT: 5, MARK: 3, DRILL: 6, NOTE: 8}
CUT = "CUT"
CUT_ONLY = {CUT: 7}

SCALE = 100.0  # mm: length of the line on every drawing that proves the file's units
SCALE_TEXT = f"this line is {SCALE:g} mm ({SCALE / 25.4:.3f} in) long"
_MILLIMETRES, _METRIC = 4, 1
_DIGITS = 9  # decimals kept: a millionth of a micron; it only takes float noise out of the text


@contextmanager
def _same_every_time() -> Iterator[None]:
    """Let ezdxf write fixed dates and identifiers instead of the clock's and random ones."""
    import ezdxf

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def drawing(layers: Mapping[str, int], version: str = "R2000") -> "Drawing":
    """Return an empty drawing in millimetres with the given layers (name: colour number).

    Args:
        layers: what may be drawn on.
        version: of the format, "R2000" or later: earlier ones know no light polylines.
    """
    import ezdxf

    with _same_every_time():
        doc = ezdxf.new(version, setup=False)
    doc.header["$INSUNITS"] = _MILLIMETRES
    doc.header["$MEASUREMENT"] = _METRIC
    doc.header["$LUNITS"] = 2
    for name, colour in layers.items():
        doc.layers.add(name, color=colour)
    return doc


def add_loop(doc: "Drawing", loop: Loop, layer: str) -> None:
    """Draw a loop (n, 3) mm: a true circle where it is one, else one closed polyline with bulges."""
    ring = as_circle(loop)
    if ring is not None:
        x, y, diameter = (_clean(v) for v in ring)
        doc.modelspace().add_circle((x, y), diameter / 2, dxfattribs={"layer": layer})
        return
    corners = [tuple(_clean(v) for v in row) for row in loop.tolist()]
    doc.modelspace().add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": layer})


def add_path(doc: "Drawing", points: NDArray[np.float64], layer: str) -> None:
    """Draw an open line through points (n, 2) mm."""
    corners = [(_clean(x), _clean(y)) for x, y in points.tolist()]
    doc.modelspace().add_lwpolyline(corners, format="xy", dxfattribs={"layer": layer})


def add_cross(doc: "Drawing", x: float, y: float, size: float, layer: str) -> None:
    """Draw a centre mark of two lines, `size` mm over all."""
    h = size / 2
    for dx, dy in ((h, 0.0), (0.0, h)):
        start, end = (_clean(x - dx), _clean(y - dy)), (_clean(x + dx), _clean(y + dy))
        doc.modelspace().add_line(start, end, dxfattribs={"layer": layer})


def add_scale(doc: "Drawing", x: float, y: float, tick: float, layer: str) -> None:
    """Draw the scale line from (x, y) mm to the right, with upright ticks at its ends."""
    h = tick / 2
    path = [(x, y - h), (x, y + h), (x, y), (x + SCALE, y), (x + SCALE, y + h), (x + SCALE, y - h)]
    add_path(doc, np.array(path), layer)


def add_text(doc: "Drawing", lines: list[str], x: float, y: float, height: float, layer: str) -> None:
    """Write lines of text downward from (x, y) mm, letters `height` mm high."""
    for number, line in enumerate(lines):
        at = (_clean(x), _clean(y - number * 1.6 * height))
        doc.modelspace().add_text(line, height=height, dxfattribs={"layer": layer, "insert": at})


def save(doc: "Drawing", path: Path, extents: tuple[float, float, float, float]) -> None:
    """Write the drawing.

    Raises:
        ReleaseFault: if there is nothing in it.
    """
    if not len(doc.modelspace()):
        raise ReleaseFault(path.name, "there is nothing to draw")
    x0, y0, x1, y1 = (_clean(v) for v in extents)
    doc.header["$EXTMIN"], doc.header["$EXTMAX"] = (x0, y0, 0.0), (x1, y1, 0.0)
    doc.modelspace().dxf.extmin, doc.modelspace().dxf.extmax = (x0, y0, 0.0), (x1, y1, 0.0)
    doc.set_modelspace_vport(height=1.1 * max(y1 - y0, (x1 - x0) / 1.6), center=((x0 + x1) / 2, (y0 + y1) / 2))
    # The library registers what is in use from a set, whose order changes from run to run: register it sorted first.
    for name in sorted(doc.entitydb.dxf_types_in_use()):
        doc.classes.add_class(name)
    with _same_every_time(), path.open("w", encoding=doc.output_encoding, newline="\n", errors="dxfreplace") as out:
        doc.write(out)


def read(path: Path) -> "Drawing":
    """Return a drawing read back from its file.

    Raises:
        ReleaseFault: if it cannot be read.
    """
    import ezdxf

    try:
        return ezdxf.readfile(path)
    except (OSError, ezdxf.DXFError) as wrong:
        raise ReleaseFault(path.name, f"cannot be read back ({wrong})") from wrong


def loop_of_entity(entity: Any) -> Loop | None:
    """Return the loop of a circle or a closed polyline (n, 3) mm, else None."""
    from baywright.shape.loop import circle

    if entity.dxftype() == "CIRCLE":
        x, y, _ = entity.dxf.center
        return circle(x, y, 2 * entity.dxf.radius)
    if entity.dxftype() == "LWPOLYLINE" and entity.closed:
        return np.array(list(entity.get_points("xyb")), dtype=float)
    return None


def _clean(value: float) -> float:
    return round(float(value), _DIGITS) + 0.0
