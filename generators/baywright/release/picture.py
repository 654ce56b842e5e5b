"""Pictures of an assembly in space, without the CAD kernel: what goes where, with its axes and a key of colours."""

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import LID, Assembly
from baywright.piece.numbering import distinct
from baywright.piece.plate import Plate
from baywright.release.colours import colour_of
from baywright.release.mesh import Mesh, mesh
from baywright.release.raster import View, fitted, render, view_axes
from baywright.shape.pose import Pose

_FINER = 2  # picture points drawn for each one kept, each way: smooth edges
_DOTS = 100  # to the inch, as matplotlib counts them
_SAGITTA = 0.15  # mm: coarser than for measuring, finer than the eye sees
_AXES = ("X", "Y", "Z")
_INK = (0.11, 0.15, 0.20)  # the report page's own


def write_picture(
    assembly: Assembly,
    path: Path,
    *,
    hide: Sequence[str] = (),
    explode: float = 0.0,
    around: float = 35.0,
    above: float = 28.0,
    size: tuple[int, int] = (1400, 950),
    title: str = "",
) -> Path:
    """Write a picture of an assembly (PNG or SVG, by the path's ending) and return the path.

    Args:
        assembly: what to draw.
        path: the file.
        hide: roles or marks left out; "lid" leaves out all that is fitted with the lid, its screws included.
        explode: how far pieces stand apart, as a share of half the assembly's diagonal.
        around: the viewer's place, degrees from -y toward +x.
        above: how far the viewer looks down, degrees.
        size: picture points across and up.
        title: a line above the picture.

    Raises:
        ValueError: if nothing is left to draw.
    """
    vertices, faces, colours, owners, key = _scene(assembly, tuple(word.lower() for word in hide), explode)
    axes = view_axes(around, above)
    wide, high = size[0] * _FINER, size[1] * _FINER
    view = fitted(axes, vertices, wide, high, 0.09)
    image = render(view, vertices, faces, colours, owners)
    # What is empty is nought in every colour, so that edges against the empty ground do not darken.
    small = np.zeros((size[1], size[0], 4), dtype=np.float32)
    for i in range(_FINER):
        for j in range(_FINER):
            small += image[i::_FINER, j::_FINER] / np.float32(_FINER**2)
    small[..., :3] /= np.maximum(small[..., 3:], np.float32(1e-9))
    _save(small, view, path, size, key, title or assembly.name)
    return path


def _scene(
    assembly: Assembly, hide: tuple[str, ...], explode: float
) -> tuple[
    NDArray[np.float64],
    NDArray[np.int64],
    NDArray[np.float64],
    NDArray[np.int64],
    dict[str, tuple[float, float, float]],
]:
    """Return vertices, faces, colour of each face, owner of each face, and the key: role and colour."""
    shapes = _shapes(assembly)
    points, corners, colours, owners = [], [], [], []
    key: dict[str, tuple[float, float, float]] = {}
    start = 0
    apart = moved_apart(assembly, explode)
    for number, item in enumerate([*assembly.placed, *assembly.fasteners()]):
        role = item.piece.role.lower()
        lidded = item.stage == LID and "lid" in hide
        if not item.piece.bodies() or lidded or any(word in (role, item.mark.lower()) for word in hide):
            continue
        (vertices, faces), where = shapes[item.mark]
        stands = where(vertices) + apart[number]
        colour = colour_of(item.piece)
        key.setdefault(item.piece.role, colour)
        points.append(stands)
        corners.append(faces + start)
        colours.append(np.tile(colour, (len(faces), 1)))
        owners.append(np.full(len(faces), number))
        start += len(vertices)
    if not points:
        raise ValueError(f"{assembly.name}: nothing is left to draw")
    return np.concatenate(points), np.concatenate(corners), np.concatenate(colours), np.concatenate(owners), key


@lru_cache(maxsize=1)
def _shapes(assembly: Assembly) -> dict[str, tuple[Mesh, Pose]]:
    """Return each piece's and fastener's mesh and where it stands, by mark; kept for the next picture of the same."""
    found: dict[str, tuple[Mesh, Pose]] = {}
    for part in distinct(assembly):
        if part.piece.bodies():
            shape = mesh(part.piece, _SAGITTA)
            found |= {mark: (shape, where) for mark, where in part.occurrences}
    return found


def moved_apart(assembly: Assembly, explode: float) -> list[NDArray[np.float64]]:
    """Return how far (3,) mm each piece and fastener is drawn from its place: walls off their angles, screws out.

    Plates move out along their own normal, extrusions stay, screws move on along their own axis from the piece under
    their heads: every screw still points at its hole.
    """
    if not explode:
        return [np.zeros(3)] * (len(assembly.placed) + len(assembly.fasteners()))
    whole = assembly.bounds()
    middle, reach = (whole.low + whole.high) / 2, float(np.linalg.norm(whole.high - whole.low)) / 2 * explode
    moves = []
    for item in assembly.placed:
        move = np.zeros(3)
        if isinstance(item.piece, Plate):
            normal = item.pose.turn[:, 2]
            bodies = item.blocks()
            centre = np.mean([(b.low + b.high) / 2 for b in bodies], axis=0)
            move = normal * np.sign(normal @ (centre - middle)) * reach
            if item.stage == LID:
                # The lid stands off what is fitted with it, each the thinner the nearer to the box.
                move = move * (1.0 + 0.35 * ("lid" in item.piece.role.lower()))
        moves.append(move)
    moves = _with_walls(assembly, moves)
    under = {item.mark: move for item, move in zip(assembly.placed, moves, strict=True)}
    for line in assembly.lines:
        base = under[line.layers[0].mark] if line.layers else np.zeros(3)
        for _ in line.points:
            if line.screw is not None:
                moves.append(base - line.direction * reach * 0.45)
            for extra in line.along:
                # A washer goes with its screw, a nut or insert stays where it is set.
                with_screw = extra.offset <= 0
                moves.append(base - line.direction * reach * 0.3 if with_screw else under[line.layers[-1].mark])
    return moves


def _with_walls(assembly: Assembly, moves: list[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
    """Return the moves, feet, lugs and fittings that sit on a wall's outside going out with it, a little further."""
    blocks = [item.blocks() for item in assembly.placed]
    boxes = [
        (np.min([b.low for b in each], axis=0), np.max([b.high for b in each], axis=0)) if each else None
        for each in blocks
    ]
    walls = [(box, move) for box, move, item in zip(boxes, moves, assembly.placed, strict=True) if box and move.any()]
    found = []
    for item, box, own in zip(assembly.placed, boxes, moves, strict=True):
        move = own
        if box is not None and not isinstance(item.piece, Plate):
            middle = (box[0] + box[1]) / 2
            for (low, high), out in walls:
                touches = (box[0] <= high + 1.0).all() and (box[1] >= low - 1.0).all()
                if touches and out @ (middle - (low + high) / 2) > 0:
                    move = out * 1.2
                    break
        found.append(move)
    return found


def _save(
    image: NDArray[np.floating[Any]],
    view: View,
    path: Path,
    size: tuple[int, int],
    key: dict[str, tuple[float, float, float]],
    title: str,
) -> None:
    """Set the picture with its title, axes and key, and write it without dates."""
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(size[0] / _DOTS, size[1] / _DOTS), dpi=_DOTS, facecolor="white")
    FigureCanvasAgg(figure)
    ax = figure.add_axes((0, 0, 1, 1))
    figure.figimage(np.clip(255 * image + 0.5, 0, 255).astype(np.uint8))  # point for point
    ax.set_xlim(0, size[0])
    ax.set_ylim(0, size[1])
    ax.axis("off")
    _draw_axes(ax, view)
    _draw_key(ax, image, key, size)
    ax.text(24, size[1] - 24, title, fontsize=15, weight="bold", va="top", color="0.15")
    kind = path.suffix.lower().lstrip(".")
    about: dict[str, Any] = {"Software": None} if kind == "png" else {"Date": None, "Creator": None}
    with matplotlib.rc_context({"svg.hashsalt": "baywright"}):
        figure.savefig(path, format=kind, metadata=about)


def _draw_axes(ax: Any, view: View) -> None:
    """Draw the three axes as arrows in the lower left corner."""
    foot, long = np.array([95.0, 95.0]), 62.0
    for name, direction in zip(_AXES, view.axes[:2].T, strict=True):
        tip = foot + long * direction
        if np.hypot(*direction) > 0.05:
            ax.annotate("", tip, foot, arrowprops={"arrowstyle": "-|>", "color": _INK, "linewidth": 2.2})
        ax.text(
            *(foot + (long + 15) * direction), name, color=_INK, fontsize=13, weight="bold", ha="center", va="center"
        )


def _draw_key(
    ax: Any, image: NDArray[np.floating[Any]], key: dict[str, tuple[float, float, float]], size: tuple[int, int]
) -> None:
    """List the colours with what they stand for, in the corner at the right that is emptier; one line a colour."""
    from matplotlib.patches import Rectangle

    shared: dict[tuple[float, float, float], list[str]] = {}
    for role, colour in key.items():
        shared.setdefault(colour, []).append(role)
    texts = [", ".join(roles[:3]) + (" …" if len(roles) > 3 else "") for roles in shared.values()]
    high, wide = 21 * len(texts) + 14, int(7.2 * max(map(len, texts))) + 60
    ink = image[:, -wide:, 3] > 0
    top = ink[:high].sum() <= ink[-high:].sum()
    start = size[1] - 26 if top else 21 * len(texts) - 2
    for line, (colour, text) in enumerate(zip(shared, texts, strict=True)):
        y = start - 21 * line
        ax.text(size[0] - 46, y, text, fontsize=10.5, ha="right", va="center", color="0.2")
        ax.add_patch(Rectangle((size[0] - 38, y - 7), 16, 14, facecolor=colour, edgecolor="0.3", linewidth=0.8))
