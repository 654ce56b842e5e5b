"""Pictures of a box in its bay: sections through the tightest place, the map of clearances, the way in as frames."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from baywright.bay.convex import Shapes, hulls, nearest, shapes
from baywright.bay.outside import CASE, ROOM, Marked
from baywright.bay.route import Route
from baywright.bay.skin import Skin
from baywright.bay.surround import Standing
from baywright.figure import new_figure, save_figure
from baywright.piece.solid import Block, Round, enclosing
from baywright.shape.pose import Pose

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Array = NDArray[np.float64]

# The three views by the axis one looks along: what runs to the right, what runs up, and their names.
_VIEWS = {
    1: (0, 2, "from the left: X rearward, Z up"),
    0: (1, 2, "from the rear, looking forward: Y right, Z up"),
    2: (1, 0, "from above: Y right, front on top"),
}
_INK, _BOX, _ROOM, _HOT, _PAPER = "#25343d", "#2f6f9f", "#d9952b", "#c0392b", "#f7f5f0"
_SKINS = ("#8a8f94", "#4d6b57", "#7a4d7d", "#9c6b3f")
_SAMPLE = 10.0  # mm between the points that a map measures to
_ROUND = 24


def section_picture(
    title: str, bodies: Sequence[Marked], pose: Pose, skins: Sequence[Skin], stands: Standing, path: Path
) -> Path:
    """Write three sections through the tightest place (SVG, PNG or PDF) and return the path.

    Each cuts bay and box by the plane through the tightest place; the gap is drawn and its size written beside it.
    """
    near = stands.least
    at = np.array(near.gap.on_box if near is not None else pose(_middle(bodies)))
    to = np.array(near.gap.on_skin if near is not None else at)
    figure = new_figure(14, 9)
    grid = figure.add_gridspec(2, 2)
    solid = shapes([b for _, b in bodies], pose)
    for place, axis in zip((grid[0, 0], grid[0, 1], grid[1, 0]), (1, 0, 2), strict=True):
        axes = figure.add_subplot(place)
        u, v, name = _VIEWS[axis]
        for number, skin in enumerate(skins):
            _lines(axes, cut_skin(skin, axis, float(to[axis])), u, v, _SKINS[number % len(_SKINS)], skin.name)
        for (mark, _), outline in zip(bodies, cut_bodies(solid, bodies, axis, float(at[axis])), strict=True):
            if len(outline):
                _patch(axes, outline[:, [u, v]], mark)
        # Where the plane misses the case its outline tells where it is.
        for outline in _shadows([b for b in bodies if b[0] == CASE], pose, u, v):
            axes.plot(*np.vstack([outline, outline[:1]]).T, color=_BOX, linewidth=0.8, linestyle=":", zorder=5)
        axes.plot([at[u], to[u]], [at[v], to[v]], color=_HOT, linewidth=2.2, solid_capstyle="round", zorder=6)
        if near is not None:
            size = f"{near.gap.distance:.1f} mm"
            axes.annotate(
                size, (to[u], to[v]), xytext=(11, 9), textcoords="offset points", color=_HOT, fontweight="bold",
                bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.0}, zorder=7,
            )  # fmt: skip
        axes.plot([to[u]], [to[v]], marker="o", markersize=16, markerfacecolor="none", color=_HOT, zorder=6)
        axes.set_title(f"{name}; cut at {'XYZ'[axis]} {at[axis]:.0f} mm", fontsize=10)
        _frame(axes, bodies, pose, axis)
    text = figure.add_subplot(grid[1, 1])
    text.axis("off")
    _legend(text, skins, bodies)
    lines = [title, ""]
    if near is None:
        lines.append("nothing within reach")
    else:
        state = "into each other by at least" if near.gap.distance < 0 else "nearest:"
        lines += [
            f"{state} {abs(near.gap.distance):.1f} mm",
            f"'{near.gap.mark}' to {near.against}",
            f"X {to[0]:.0f}, Y {to[1]:.0f}, Z {to[2]:.0f} mm",
            f"may be off by {near.trust:.1f} mm: {near.worst:.1f} mm for certain",
            "",
            "it may shift",
            *(f"   {t.side}: {t.way:.0f} mm until '{t.mark}' meets {name}" for t, _, name in stands.ways),
        ]
    text.text(0.0, 1.0, "\n".join(lines), va="top", fontsize=10, color=_INK, wrap=True)
    return save_figure(figure, path)


def map_picture(
    title: str, case: Block, pose: Pose, skins: Sequence[Skin], asked: float, path: Path
) -> tuple[Path, float]:
    """Write the case unfolded, each place coloured by its clearance; return the path and the least clearance, mm.

    Points of the case 8 mm apart are held against the triangle that the nearest of many points on the skins belongs
    to: exact but where another triangle is nearer by less than those points are apart.
    """
    from matplotlib.colors import TwoSlopeNorm
    from scipy.spatial import cKDTree

    low, high = case.low, case.high
    size = high - low
    seen = [_sampled(s, *_around(case, pose, 150.0)) for s in skins]
    cloud, owner = np.concatenate([p for p, _ in seen]), np.concatenate([t for _, t in seen])
    tree = cKDTree(cloud) if len(cloud) else None
    figure = new_figure(12, 9)
    axes = figure.add_subplot()
    norm = TwoSlopeNorm(vmin=0.0, vcenter=max(asked, 1.0), vmax=max(5 * asked, 50.0))
    least, spot, drawn = np.inf, (0.0, 0.0), None
    for name, corner, right, up, put in _net(low, size):
        nu, nv = (max(int(np.linalg.norm(w) / 8.0), 2) for w in (right, up))
        s, t = (np.arange(nu) + 0.5) / nu, (np.arange(nv) + 0.5) / nv
        points = corner + s[None, :, None] * right + t[:, None, None] * up
        away = np.full((nv, nu), 150.0)
        if tree is not None:
            there = pose(points.reshape(-1, 3))
            found, which = tree.query(there, distance_upper_bound=150.0)
            rows = np.flatnonzero(np.isfinite(found))
            spots = hulls(there[rows, None])
            exact, _, _ = nearest(spots, np.arange(len(rows)), hulls(owner[which[rows]]), np.arange(len(rows)))
            away.ravel()[rows] = np.minimum(exact, 150.0)
        wide, tall = float(np.linalg.norm(right)), float(np.linalg.norm(up))
        drawn = axes.imshow(
            away,
            extent=(put[0], put[0] + wide, put[1], put[1] + tall),
            origin="lower",
            cmap="RdYlGn",
            norm=norm,
            interpolation="nearest",
        )
        axes.plot(
            put[0] + np.array([0, wide, wide, 0, 0]),
            put[1] + np.array([0, 0, tall, tall, 0]),
            color=_INK,
            linewidth=1.0,
        )
        paper = {"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 1.5}
        axes.annotate(name, (put[0] + 8, put[1] + tall - 8), va="top", fontsize=9, color=_INK, bbox=paper)
        if away.min() < least:
            k, i = np.unravel_index(int(away.argmin()), away.shape)
            least = float(away.min())
            spot = (put[0] + wide * float(s[i]), put[1] + tall * float(t[k]))
    axes.plot([spot[0]], [spot[1]], marker="o", markersize=15, markerfacecolor="none", color=_INK, markeredgewidth=2)
    axes.annotate(f"{least:.0f} mm", spot, xytext=(12, 12), textcoords="offset points", fontsize=11, fontweight="bold")
    axes.set_aspect("equal")
    axes.autoscale()
    axes.margins(0.03)
    axes.set_axis_off()
    axes.set_title(f"{title}: the case unfolded round its lid; clearance to the bay")
    assert drawn is not None
    bar = figure.colorbar(drawn, ax=axes, shrink=0.7)
    bar.set_label(f"mm to the nearest part of the bay; {asked:g} mm asked")
    return save_figure(figure, path), least


def way_picture(
    title: str, bodies: Sequence[Marked], route: Route, skins: Sequence[Skin], path: Path, most: int = 8
) -> Path:
    """Write the way in as frames, seen from the front and from the left, first above the car, last in place."""
    frames = list(route.frames)
    if len(frames) > most:
        keep = np.unique(np.append(np.linspace(0, len(frames) - 1, most - 1).round().astype(int), route.at_frame))
        frames = [frames[i] for i in keep.tolist()]
        numbers = [int(i) + 1 for i in keep]
    else:
        numbers = list(range(1, len(frames) + 1))
    figure = new_figure(2.9 * len(frames) + 0.4, 6.2)
    blocks = [(CASE, b) for m, b in bodies if not m.startswith(ROOM)]
    for column, (number, pose) in enumerate(zip(numbers, frames, strict=True)):
        middle = pose(_middle(bodies))
        for row, axis in enumerate((0, 1)):
            axes = figure.add_subplot(2, len(frames), row * len(frames) + column + 1)
            u, v, name = _VIEWS[axis]
            # Cut at the box's middle, and faintly at places along all of its depth: a tower beside its end counts too.
            around = [enclosing(b.moved(pose)) for _, b in blocks]
            near, far = (float(f(getattr(b, w)[axis] for b in around)) for f, w in ((min, "low"), (max, "high")))
            for k, skin in enumerate(skins):
                colour = _SKINS[k % len(_SKINS)]
                for at in np.linspace(near, far, 7).tolist():
                    _lines(axes, cut_skin(skin, axis, at), u, v, colour + "66", skin.name, 0.6)
                _lines(axes, cut_skin(skin, axis, float(middle[axis])), u, v, colour, skin.name)
            for outline in _shadows(blocks, pose, u, v):
                axes.fill(*outline.T, facecolor=_BOX + "55", edgecolor=_BOX, linewidth=0.5)
            tight = number - 1 == route.at_frame
            axes.set_title(
                (
                    f"frame {number}"
                    + (f": tightest here on, {route.worst:.0f} mm" if tight and route.worst is not None else "")
                )
                if row == 0
                else "",
                fontsize=9,
                color=_HOT if tight else _INK,
            )
            axes.set_aspect("equal")
            bounds = [s.bounds for s in skins]
            first = np.min([b[0] for b in bounds], axis=0)
            last = np.max([b[1] for b in bounds], axis=0)
            tall = max(float(enclosing(b.moved(frames[0])).high[2]) for _, b in blocks)
            axes.set_xlim(max(first[u], middle[u] - 900), min(last[u], middle[u] + 900))
            axes.set_ylim(first[2] - 20, tall + 20)
            axes.tick_params(labelsize=6)
            if column == 0:
                axes.set_ylabel(name, fontsize=8)
    figure.suptitle(f"{title}: {route.said}", fontsize=11)
    return save_figure(figure, path)


def cut_skin(skin: Skin, axis: int, at: float) -> Array:
    """Return where a plane across an axis cuts triangles: segments (k, 2, 3) mm; points within 2 mm of it as dots."""
    corner = skin.vertices[skin.faces]
    side = corner[:, :, axis] - at
    cloud = skin.faces[:, 0] == skin.faces[:, 1]
    dots = corner[cloud & (np.abs(side[:, 0]) < 2.0)][:, [0, 0]]
    hit = (side.min(axis=1) < 0) & (side.max(axis=1) >= 0) & ~cloud
    corner, side = corner[hit], side[hit]
    ends = np.zeros((len(corner), 2, 3))
    count = np.zeros(len(corner), dtype=int)
    for k in range(3):
        a, b, s, t = corner[:, k], corner[:, (k + 1) % 3], side[:, k], side[:, (k + 1) % 3]
        crosses = ((s < 0) != (t < 0)) & (count < 2)
        share = np.where(crosses, s / np.where(crosses, s - t, 1.0), 0.0)
        rows = np.flatnonzero(crosses)
        ends[rows, count[rows]] = (a + share[:, None] * (b - a))[rows]
        count[rows] += 1
    return np.concatenate([ends[count == 2], dots])


def cut_bodies(solid: Shapes, bodies: Sequence[Marked], axis: int, at: float) -> list[Array]:
    """Return where a plane across an axis cuts each body: the outline (k, 3) mm, empty where it does not."""
    found = []
    for i, (_, body) in enumerate(bodies):
        points = solid.points[i]
        if isinstance(body, Round):
            z = solid.axis[i]
            x = np.cross(z, np.eye(3)[int(np.argmin(np.abs(z)))])
            x /= np.linalg.norm(x)
            turn = np.arange(_ROUND) * 2 * np.pi / _ROUND
            ring = solid.radius[i] * (np.cos(turn)[:, None] * x + np.sin(turn)[:, None] * np.cross(z, x))
            ends = points[0] + ring, points[4] + ring
            around = [(e, np.roll(e, 1, axis=0)) for e in ends]
            start = np.concatenate([ends[0], *(a for a, _ in around)])
            stop = np.concatenate([ends[1], *(b for _, b in around)])
        else:
            pairs = [(p, p | bit) for p in range(8) for bit in (1, 2, 4) if not p & bit]
            start, stop = points[[p for p, _ in pairs]], points[[q for _, q in pairs]]
        s, t = start[:, axis] - at, stop[:, axis] - at
        hit = (s < 0) != (t < 0)
        share = s[hit] / (s[hit] - t[hit])
        outline = start[hit] + share[:, None] * (stop[hit] - start[hit])
        if len(outline) >= 3:
            u, v = (k for k in range(3) if k != axis)
            flat = outline[:, [u, v]] - outline[:, [u, v]].mean(axis=0)
            outline = outline[np.argsort(np.arctan2(flat[:, 1], flat[:, 0]))]
        found.append(outline if len(outline) >= 3 else np.zeros((0, 3)))
    return found


def _middle(bodies: Sequence[Marked]) -> Array:
    case = enclosing(bodies[0][1])
    out: Array = (case.low + case.high) / 2
    return out


def _shadows(bodies: Sequence[Marked], pose: Pose, u: int, v: int) -> list[Array]:
    """Return the outlines (k, 2) of bodies as they are seen along an axis."""
    from scipy.spatial import ConvexHull

    solid = shapes([b for _, b in bodies], pose)
    found = []
    for i in range(len(solid)):
        points = solid.points[i]
        if solid.radius[i] > 0:
            continue  # a screw's head is too small to see here
        flat = points[:, [u, v]]
        found.append(flat[ConvexHull(flat).vertices])
    return found


def _around(case: Block, pose: Pose, reach: float) -> tuple[Array, Array]:
    there = enclosing(case.moved(pose))
    return there.low - reach, there.high + reach


def _sampled(skin: Skin, low: Array, high: Array) -> tuple[Array, Array]:
    """Return points (n, 3) on the triangles near a block, at most `_SAMPLE` mm apart, and each one's triangle."""
    near = skin.cropped(low, high)
    whole = near.vertices[near.faces]
    part, owner = whole, np.arange(len(whole))
    points, owners = [whole.mean(axis=1)], [owner]
    for _ in range(24):  # cut the longest edge in two until all are short: large faces of a taped bay need it most
        longest = np.linalg.norm(part - np.roll(part, -1, axis=1), axis=2)
        long = longest.max(axis=1, initial=0.0) > _SAMPLE
        long &= ((part.min(axis=1) <= high) & (part.max(axis=1) >= low)).all(axis=1)
        if not long.any() or len(part) > 3_000_000:
            break
        part, owner, edge = part[long], owner[long], longest[long].argmax(axis=1)
        n = np.arange(len(part))
        a, b, c = part[n, edge], part[n, (edge + 1) % 3], part[n, (edge + 2) % 3]
        middle = (a + b) / 2
        points.append(middle)
        owners.append(owner)
        part = np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])
        owner = np.concatenate([owner, owner])
    return np.concatenate(points), whole[np.concatenate(owners)]


def _net(low: Array, size: Array) -> list[tuple[str, Array, Array, Array, tuple[float, float]]]:
    """Return the six faces of a case laid out flat: name, corner, the ways right and up in it, and where it is put."""
    x, y, z = np.diag(size)
    a, b, c = size.tolist()
    gap = 12.0
    return [
        ("lid", low + z, x, y, (0.0, 0.0)),
        ("wall left", low, x, z, (0.0, -c - gap)),
        ("wall right", low + y + z, x, -z, (0.0, b + gap)),
        ("wall service", low + x + z, -z, y, (a + gap, 0.0)),
        ("wall blind", low, z, y, (-c - gap, 0.0)),
        ("floor, from below", low + y, x, -y, (0.0, b + c + 2 * gap)),
    ]


def _lines(axes: "Axes", segments: Array, u: int, v: int, colour: str, name: str, wide: float = 1.1) -> None:
    from matplotlib.collections import LineCollection

    axes.add_collection(LineCollection([s[:, [u, v]] for s in segments], colors=colour, linewidths=wide, label=name))


def _patch(axes: "Axes", outline: Array, mark: str) -> None:
    room = mark.startswith(ROOM)
    axes.fill(
        *outline.T,
        facecolor=_ROOM + "33" if room else _BOX + ("22" if mark == CASE else "aa"),
        edgecolor=_ROOM if room else _BOX,
        linestyle="--" if room else "-",
        linewidth=0.6,
    )


def _frame(axes: "Axes", bodies: Sequence[Marked], pose: Pose, axis: int) -> None:
    u, v, _ = _VIEWS[axis]
    blocks = [enclosing(b.moved(pose)) for _, b in bodies]
    low, high = np.min([b.low for b in blocks], axis=0), np.max([b.high for b in blocks], axis=0)
    axes.set_xlim(low[u] - 120, high[u] + 120)
    axes.set_ylim((high[v] + 120, low[v] - 120) if axis == 2 else (low[v] - 80, high[v] + 120))
    axes.set_aspect("equal")
    axes.grid(True, color="#eceff1", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=7)
    axes.set_xlabel(f"{'XYZ'[u]}, mm", fontsize=7)
    axes.set_ylabel(f"{'XYZ'[v]}, mm", fontsize=7)


def _legend(axes: "Axes", skins: Sequence[Skin], bodies: Sequence[Marked]) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    names: dict[str, Any] = {s.name: _SKINS[i % len(_SKINS)] for i, s in enumerate(skins)}
    handles: list[Any] = [Line2D([], [], color=c, label=n) for n, c in names.items()]
    if any(mark == CASE for mark, _ in bodies):
        handles.append(Line2D([], [], color=_BOX, linestyle=":", label="the case, seen through"))
    handles.append(Patch(facecolor=_BOX + "88", label="what stands in the bay, cut"))
    if any(mark.startswith(ROOM) for mark, _ in bodies):
        handles.append(Patch(facecolor=_ROOM + "55", label="room for cables"))
    handles.append(Line2D([], [], color=_HOT, marker="o", markerfacecolor="none", label="tightest place"))
    axes.legend(handles=handles, loc="lower left", frameon=False, fontsize=9)
