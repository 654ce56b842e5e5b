"""What the page shows in space: light meshes packed small, where each piece stands, the car's wheels, bays, markers."""

import base64
import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.bay.envelope import Bay, Upright
from baywright.job.units import Measured
from baywright.piece.assembly import IN_CAR, LID, Assembly, Piece
from baywright.piece.numbering import Part, distinct
from baywright.release.colours import colour_of
from baywright.release.drawing.lines import sharp_edges
from baywright.release.mesh import mesh
from baywright.release.picture import moved_apart
from baywright.shape.pose import Pose

_SAGITTA = 0.08  # mm: finer than the eye sees on a screen
_STEPS = 65535.0  # a part's corners are kept on a grid of this many steps along its longest side
_WHEEL_SIDES = 48


@dataclass(frozen=True, eq=False)
class Shown:
    """One thing to show: its name, its assembly with its parts, where it stands in the car."""

    name: str
    assembly: Assembly
    parts: Sequence[Part]
    pose: Pose


def shown(name: str, assembly: Assembly, pose: Pose) -> Shown:
    """Return a thing to show, its distinct parts found."""
    return Shown(name, assembly, distinct(assembly), pose)


def packed(things: Sequence[Shown], lines: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Return the scene as plain data for the page's script.

    Args:
        things: what is shown, each with its own pose in the vehicle's frame.
        lines: sets of lines from `wheels` and `bay_lines`.
    """
    parts: list[dict[str, Any]] = []
    # Boxes are made of many of the same pieces under numbers of their own: each shape is carried once.
    shapes: dict[str, int] = {}
    items, groups = [], []
    for group, thing in enumerate(things):
        whole = thing.assembly.bounds()
        groups.append({"name": thing.name, "low": _r(whole.low), "high": _r(whole.high), "pose": _matrix(thing.pose)})
        stage = {item.mark: item.stage for item in [*thing.assembly.placed, *thing.assembly.fasteners()]}
        marks = [item.mark for item in [*thing.assembly.placed, *thing.assembly.fasteners()]]
        moves = dict(zip(marks, moved_apart(thing.assembly, 1.0), strict=True))
        for part in thing.parts:
            if not part.piece.bodies():
                continue
            for mark, own in part.occurrences:
                stands = thing.pose.after(own)
                items.append(
                    {
                        "part": len(parts),
                        "group": group,
                        "mark": mark,
                        "layer": _layer(part, stage[mark]),
                        "pose": _matrix(stands),
                        "apart": _r(thing.pose.direction(moves[mark])),
                    }
                )
            shape = json.dumps(_shape(part.piece), separators=(",", ":"))
            parts.append({**_part(part), "shape": shapes.setdefault(shape, len(shapes))})
    carried = [json.loads(shape) for shape in shapes]
    return {"groups": groups, "shapes": carried, "parts": parts, "items": items, "lines": list(lines)}


def _layer(part: Part, stage: int) -> str:
    """Return which switch of the page hides a piece."""
    if part.piece.role in ("screw", "washer", "nut", "insert", "hold-down") or _group(part) == "screws":
        return "lid screws" if stage == LID else "screws"
    if stage == LID:
        return "lid"
    if part.piece.role == "module":
        return "modules"
    if "liner" in part.piece.role:
        return "liner"
    return "fittings" if not part.made or stage >= IN_CAR else "metal"


def _group(part: Part) -> str:
    return str(getattr(part.piece, "group", ""))


def _part(part: Part) -> dict[str, Any]:
    """Return what the page says about a part."""
    piece = part.piece
    return {
        "number": part.number,
        "role": piece.role,
        "what": " ".join(filter(None, (getattr(piece, "material", ""), piece.size_text()))),
        "mass": round(piece.mass_properties().mass, 4),
        "count": part.quantity,
        "colour": [round(c, 3) for c in colour_of(piece)],
    }


def _shape(piece: Piece) -> dict[str, Any]:
    """Return a piece's mesh on its grid, as text."""
    vertices, faces = mesh(piece, _SAGITTA)
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    step = max(float((high - low).max()), 1e-6) / _STEPS
    grid = np.round((vertices - low) / step).astype("<u2")
    wide = "<u2" if len(vertices) < 65536 else "<u4"
    return {
        "low": _r(low, 4),
        "step": step,
        "wide": 2 if wide == "<u2" else 4,
        "points": _text(grid),
        "faces": _text(faces.astype(wide)),
        "edges": _text(sharp_edges(vertices, faces).astype(wide)),
    }


def wheels(
    wheelbase: float, tracks: tuple[float, float], radius: float = 300.0, width: float = 160.0
) -> dict[str, Any]:
    """Return the car's wheels, axles and middle line as lines: only to show where things stand.

    Args:
        wheelbase: mm.
        tracks: front and rear, mm.
        radius: of a wheel, mm: nobody measures it for this, a usual size is drawn.
        width: of a tyre, mm, likewise.
    """
    pairs: list[list[float]] = []
    angles = [2 * math.pi * i / _WHEEL_SIDES for i in range(_WHEEL_SIDES + 1)]
    for x, track in zip((0.0, wheelbase), tracks, strict=True):
        for side in (-1, 1):
            for y in (side * track / 2 - width / 2, side * track / 2 + width / 2):
                ring = [(x + radius * math.cos(a), y, radius + radius * math.sin(a)) for a in angles]
                for a, b in pairwise(ring):
                    pairs += [list(a), list(b)]
        pairs += [[x, -track / 2, radius], [x, track / 2, radius]]
    pairs += [[-450.0, 0.0, 0.0], [wheelbase + 450.0, 0.0, 0.0]]
    return {"name": "car", "colour": "car", "points": [_r(p, 1) for p in pairs]}


def bay_lines(bay: Bay) -> list[dict[str, Any]]:
    """Return a bay's edges, and those of what must stay free in it, as lines."""
    return [
        {"name": "bay", "colour": "bay", "points": [p for space in bay.spaces for p in _prism(space)]},
        {"name": "bay", "colour": "keep", "points": [p for thing in bay.keep_outs for p in _prism(thing)]},
    ]


def block_lines(blocks: Sequence[tuple[Sequence[Measured], Sequence[Measured]]]) -> dict[str, Any]:
    """Return the edges of blocks that must stay free, each between two opposite corners as measured, as lines."""
    points: list[list[float]] = []
    for low, high in blocks:
        (x0, y0, z0), (x1, y1, z1) = ([c.value for c in corner] for corner in (low, high))
        outline = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        points += _prism(Upright(name="", outline=outline, low=z0, high=z1, slack=np.zeros(4)))
    return {"name": "bay", "colour": "keep", "points": points}


def _prism(thing: Upright) -> list[list[float]]:
    points = []
    for (x0, y0), (x1, y1) in zip(thing.outline, np.roll(thing.outline, -1, axis=0), strict=True):
        points += [[x0, y0, thing.low], [x1, y1, thing.low], [x0, y0, thing.high], [x1, y1, thing.high]]
        points += [[x0, y0, thing.low], [x0, y0, thing.high]]
    return [_r(np.array(p), 1) for p in points]


def _matrix(pose: Pose) -> list[float]:
    """Return a pose as twelve numbers: its rotation row by row, then its shift in mm."""
    return [*_r(pose.turn.ravel(), 6), *_r(pose.shift, 3)]


def _text(array: NDArray[Any]) -> str:
    return base64.b64encode(array.tobytes()).decode("ascii")


def _r(values: Any, digits: int = 2) -> list[float]:
    return [round(float(v), digits) + 0.0 for v in np.asarray(values).ravel()]
