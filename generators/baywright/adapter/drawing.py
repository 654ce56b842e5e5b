"""Circles and outlines out of a DXF drawing. ezdxf is loaded only here, when a drawing is named."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.job.adapters import Outline
from baywright.job.messages import BadInput, Problem, nearest, shown
from baywright.job.patterns import DxfRow, HoleMake
from baywright.shape.loop import Loop, circle, loop_of
from baywright.shape.pattern import PatternHole

_MM = {1: 25.4, 4: 1.0, 5: 10.0, 6: 1000.0}  # DXF $INSUNITS: inch, mm, cm, m
_NAMED = {"in": 25.4, "mm": 1.0, "cm": 10.0, "m": 1000.0}
# Ends of lines and arcs that lie nearer are one corner, mm: importers of cut shops merge as much.
_JOIN = 0.05


def circles_of(row: DxfRow, folder: Path, diameter: Callable[[HoleMake, float], float]) -> list[PatternHole]:
    """Return the circles on the named layers as holes, numbered clockwise from the top, layer by layer.

    Args:
        row: the drawing, its layers and the shaft's place in it.
        folder: where the drawing lies.
        diameter: gives a hole's diameter (mm) from what its layer says and its circle's own diameter.

    Raises:
        BadInput: if the drawing cannot be read, has no unit, a layer is missing or holds no circle.
    """
    path = folder / row.file
    doc, scale = _drawing(path, row.units)
    holes: list[PatternHole] = []
    for layer, make in row.layers.items():
        found = []
        for entity in _on_layer(doc, path, layer):
            if entity.dxftype() == "CIRCLE":
                # OCS to WCS: a circle drawn on a mirrored plane keeps its real place.
                centre = entity.ocs().to_wcs(entity.dxf.center)
                x, y = (centre.x - row.origin[0]) * scale, (centre.y - row.origin[1]) * scale
                found.append((x, y, 2 * entity.dxf.radius * scale))
        if not found:
            raise _problem(path, f"layer '{layer}' holds no circle")
        found.sort(key=lambda c: (round(float(np.degrees(np.arctan2(c[0], c[1])) % 360), 6), c))
        prefix = "D" if make.kind == "dowel" else ""
        first = 1 + sum(h.name.startswith("D") == bool(prefix) for h in holes)
        holes += [
            PatternHole(
                name=f"{prefix}{number}",
                x=x,
                y=y,
                kind=make.kind,
                thread=make.thread,
                diameter=diameter(make, wide),
                position=make.position,
                depth=make.depth,
            )
            for number, (x, y, wide) in enumerate(found, first)
        ]
    return holes


def outline_of(row: Outline, folder: Path) -> Loop:
    """Return the one closed outline on a layer of a drawing, mm, counted from the shaft's centre line.

    Closed polylines keep their arcs; a circle is taken as it is; loose lines and arcs are joined end to end.

    Raises:
        BadInput: if the drawing cannot be read, has no unit, or the layer does not hold exactly one closed outline.
    """
    path = folder / row.file
    doc, scale = _drawing(path, row.units)
    loops: list[Loop] = []
    pieces: list[NDArray[np.float64]] = []
    for entity in _on_layer(doc, path, row.layer):
        kind = entity.dxftype()
        if kind == "LWPOLYLINE" and entity.closed:
            loops.append(loop_of([(x, y, b) for x, y, b in entity.get_points("xyb")]))
        elif kind == "CIRCLE":
            loops.append(circle(entity.dxf.center.x, entity.dxf.center.y, 2 * entity.dxf.radius))
        elif kind == "LWPOLYLINE":
            pieces.append(np.array(entity.get_points("xyb"), dtype=float))
        elif kind == "LINE":
            a, b = entity.dxf.start, entity.dxf.end
            pieces.append(np.array([[a.x, a.y, 0.0], [b.x, b.y, 0.0]]))
        elif kind == "ARC":
            turn = np.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360)
            a, b = entity.start_point, entity.end_point
            pieces.append(np.array([[a.x, a.y, np.tan(turn / 4)], [b.x, b.y, 0.0]]))
    loops += _joined(pieces, _JOIN / scale, path, row.layer)
    if len(loops) != 1:
        raise _problem(path, f"layer '{row.layer}' must hold one closed outline and no more, not {len(loops)}")
    out = loops[0].copy()
    out[:, :2] = (out[:, :2] - row.origin) * scale
    return out


def _joined(pieces: list[NDArray[np.float64]], near: float, path: Path, layer: str) -> list[Loop]:
    """Return closed loops of open pieces (n, 3) whose ends meet."""
    left, loops = list(pieces), []
    while left:
        chain = left.pop(0)
        while np.linalg.norm(chain[0, :2] - chain[-1, :2]) > near or len(chain) < 3:
            for k, piece in enumerate(left):
                for one in (piece, _backwards(piece)):
                    if np.linalg.norm(one[0, :2] - chain[-1, :2]) <= near:
                        chain = np.concatenate([chain[:-1], one])
                        break
                else:
                    continue
                del left[k]
                break
            else:
                x, y = chain[-1, :2]
                raise _problem(path, f"the outline on layer '{layer}' is open at ({x:.2f}, {y:.2f}): close it")
        loops.append(loop_of(chain[:-1].tolist()))
    return loops


def _backwards(piece: NDArray[np.float64]) -> NDArray[np.float64]:
    out = piece[::-1].copy()
    out[:-1, 2] = -piece[:-1, 2][::-1]
    out[-1, 2] = 0.0
    return out


def _drawing(path: Path, units: str | None) -> tuple[Any, float]:
    """Return the drawing and what one of its units is in mm."""
    import ezdxf

    try:
        if path.exists() and not path.is_file():
            raise _problem(path, "is no file")
        doc = ezdxf.readfile(path)
    except OSError as error:
        raise _problem(path, f"can't be read: {error.strerror}" if error.strerror else "is no DXF") from None
    except (ezdxf.DXFError, ValueError, LookupError, TypeError, AttributeError, StopIteration) as error:
        # The library checks a file's structure first and says so; what it stumbles over later is as broken.
        said = str(error).removeprefix("DXFStructureError: ") if isinstance(error, ezdxf.DXFError) else ""
        raise _problem(path, "is no DXF that can be read" + (f": {said}" if said else "")) from None
    scale = _NAMED[units] if units is not None else _MM.get(int(doc.header.get("$INSUNITS", 0)))
    if scale is None:
        raise _problem(path, 'the drawing does not say its unit: add units = "mm" (or "in", "cm", "m") to its table')
    return doc, scale


def _on_layer(doc: Any, path: Path, layer: str) -> list[Any]:
    entities = list(doc.modelspace())
    names = sorted({_layer_of(e) for e in entities})
    if layer not in names:
        near = nearest(layer, names)
        hint = f"; did you mean '{near}'?" if near else f"; it has {', '.join(names) or 'nothing at all'}"
        raise _problem(path, f"has nothing on layer '{layer}'{hint}")
    return [e for e in entities if _layer_of(e) == layer]


def _layer_of(entity: Any) -> str:
    """Return an entity's layer; "0", as the format has it, for what can't have one: a kind that nobody knows."""
    return str(entity.dxf.layer) if entity.dxf.is_supported("layer") else "0"


def _problem(path: Path, text: str) -> BadInput:
    return BadInput([Problem(shown(path), None, "", text)])
