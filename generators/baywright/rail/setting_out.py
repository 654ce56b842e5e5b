"""The setting-out drawing: rails, motor and mounts in plan and from the side, with the mounts' places in the car."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from baywright.piece.assembly import Placed
from baywright.piece.extrusion import Extrusion
from baywright.piece.plate import Plate
from baywright.piece.solid import Round
from baywright.rail.clear import keep_boxes
from baywright.rail.design import RailDesign
from baywright.rail.oriented import box_of
from baywright.shape.loop import polygon

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

# Sheets (ISO A3, A2; mm) and scales (ISO 5455), in the order in which they are tried.
_A3, _A2 = (420.0, 297.0), (594.0, 420.0)
_SHEETS = [*((_A3, s) for s in (1.0, 2.0, 5.0)), (_A2, 5.0), *((p, s) for s in (10.0, 20.0, 50.0) for p in (_A3, _A2))]
_TABLES = 135.0  # mm of the sheet's width for the tables
# What is drawn how: role, fill, edge.
_LOOK = {
    "motor": ("#d9e2ec", "#52667a"),
    "rail": ("#c9ced6", "#1f2933"),
    "crossbar": ("#b8bfca", "#1f2933"),
    "keep-out": ("#f7d6d0", "#b54131"),
    "screw": ("#8f99a6", "#3e4c59"),
    "nut": ("#8f99a6", "#3e4c59"),
    "spacer": ("#dfe3e8", "#3e4c59"),
}
_OTHER = ("#ece4d4", "#6b5b3e")
_ORDER = {"keep-out": 1, "motor": 2, "crossbar": 3, "rail": 4, "spacer": 4.5, "screw": 6, "nut": 6}
_MOUNT = "#b4232a"


def write_setting_out(design: RailDesign, folder: Path, revision: str = "A", png: bool = False) -> list[Path]:
    """Write the setting-out drawing as PDF (and PNG) on A3 or A2 and return the paths.

    Args:
        design: the rails.
        folder: an existing folder.
        revision: the release's letter.
        png: whether a picture is written, too.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.backends.backend_pdf import FigureCanvasPdf

    figure = _figure(design, revision)
    path = folder / f"{design.name}_setting-out_rev{revision}.pdf"
    FigureCanvasPdf(figure)
    figure.savefig(path, metadata={"CreationDate": None, "Producer": None, "Creator": None, "Title": design.name})
    paths = [path]
    if png:
        FigureCanvasAgg(figure)
        paths.append(path.with_suffix(".png"))
        figure.savefig(paths[1], dpi=110, metadata={"Software": None})
    return paths


@dataclass(frozen=True, slots=True, kw_only=True)
class MountRow:
    """A mount as tables say it.

    Attributes:
        name: its name.
        place: X, Y, Z in the vehicle's frame, mm.
        spread: how far it may be off, mm; "-" where the job does not say.
        bolt: thread, how it is fixed, rubber or rigid.
        hole: in the foot: "dia 11" or "slot 11 x 21".
        bar: mark of the bar that it hangs on.
        lean: how far its bolt leans from square to the foot, degrees; "-" if it does not.
    """

    name: str
    place: tuple[str, str, str]
    spread: str
    bolt: str
    hole: str
    bar: str
    lean: str


def mount_rows(design: RailDesign) -> list[MountRow]:
    """Return the table of mounts."""
    kit = design.kit
    rows = []
    for hanger in design.hangers:
        mount = hanger.mount
        x, y, z = (f"{v + 0.0:.1f}" for v in design.located.places[mount.name].round(1).tolist())
        hole = kit.hole(mount.ask.bolt)
        rubber = "rubber" if mount.ask.rubber else "rigid"
        rows.append(
            MountRow(
                name=mount.name,
                place=(x, y, z),
                spread=f"±{mount.spread:.1f}" if mount.spread else "-",
                bolt=f"{mount.ask.bolt} {mount.ask.fixing}, {rubber}",
                hole=f"slot {hole:g} x {hole + 2 * design.ask.shop.slot:g}" if mount.slotted else f"dia {hole:g}",
                bar=hanger.bar,
                lean=f"{hanger.lean:.1f}°" if hanger.lean > 0.05 else "-",
            )
        )
    return rows


def diagonals(design: RailDesign) -> list[tuple[str, str, float]]:
    """Return the distances between all pairs of mounts (mm): what a tape checks before anything is drilled."""
    places = design.located.places
    names = [h.mount.name for h in design.hangers]
    return [(a, b, float(np.linalg.norm(places[a] - places[b]))) for i, a in enumerate(names) for b in names[i + 1 :]]


def _figure(design: RailDesign, revision: str) -> "Figure":
    from matplotlib.figure import Figure

    shapes = {axis: list(_shapes(design, axis)) for axis in (1, 2)}
    low, high = _span(design, shapes)
    wide, tall = high[0] - low[0], (high[1] - low[1]) + (high[2] - low[2])
    page, scale = next(
        (
            (page, scale)
            for page, scale in _SHEETS
            if wide / scale <= page[0] - _TABLES - 30.0 and tall / scale <= page[1] - 44.0
        ),
        _SHEETS[-1],
    )
    figure = Figure(figsize=(page[0] / 25.4, page[1] / 25.4))
    top = page[1] - 12.0
    for axis, name in ((1, "PLAN"), (2, "FROM THE LEFT")):
        height = (high[axis] - low[axis]) / scale
        place = (22.0 / page[0], (top - height) / page[1], wide / scale / page[0], height / page[1])
        axes = figure.add_axes(place)
        top -= height + 16.0
        axes.set_xlim(low[0], high[0])
        # The car's front is at the left in both views; seen from above its right side is then up.
        axes.set_ylim(low[axis], high[axis])
        axes.set_title(f"{name}   scale 1:{scale:g}", fontsize=8, loc="left", pad=3)
        axes.set_ylabel("Y (to the right)" if axis == 1 else "Z (above ground)", fontsize=7)
        axes.tick_params(labelsize=6)
        axes.grid(visible=True, color="#e4e7eb", lw=0.4)
        axes.set_axisbelow(True)
        _view(axes, design, axis, shapes[axis])
    _tables(figure, design, revision, page, 22.0 + wide / scale + 18.0)
    return figure


def _span(design: RailDesign, shapes: dict[int, list[tuple[str, str, Array]]]) -> tuple[list[float], list[float]]:
    """Return the least and most X, Y, Z (mm) of everything that is drawn, with a margin."""
    places = np.array([design.located.places[h.mount.name] for h in design.hangers])
    lows, highs = [places.min(axis=0)], [places.max(axis=0)]
    for axis in (1, 2):
        rings = np.vstack([ring for _, _, ring in shapes[axis]])
        a, b = np.full(3, np.inf), np.full(3, -np.inf)
        a[[0, axis]], b[[0, axis]] = rings.min(axis=0), rings.max(axis=0)
        lows.append(a)
        highs.append(b)
    margin = 35.0
    return (np.min(lows, axis=0) - margin).tolist(), (np.max(highs, axis=0) + margin).tolist()


def _shapes(design: RailDesign, axis: int) -> Iterator[tuple[str, str, Array]]:
    """Yield everything that is drawn as (role, name, outline (n, 2) mm seen along Y or Z)."""
    for name, box, _ in keep_boxes(design):
        yield "keep-out", name, _hull(box.moved(design.pose).corners()[:, [0, axis]])
    for item in design.assembly.placed:
        for ring in _outlines(item, design, axis):
            yield item.piece.role, item.mark, ring
    for item in design.assembly.fasteners():
        if item.piece.role in ("screw", "nut", "spacer"):
            for ring in _outlines(item, design, axis):
                yield item.piece.role, item.mark, ring


def _view(axes: "Axes", design: RailDesign, axis: int, shapes: list[tuple[str, str, Array]]) -> None:
    """Draw every outline, the shaft and the mounts."""
    from matplotlib.patches import Polygon

    for role, name, ring in shapes:
        fill, edge = _LOOK.get(role, _OTHER)
        kept = role == "keep-out"
        axes.add_patch(
            Polygon(
                ring,
                closed=True,
                facecolor=fill,
                edgecolor=edge,
                lw=0.3 if role in ("screw", "nut") else 0.6,
                ls="--" if kept else "-",
                zorder=_ORDER.get(role, 5),
                alpha=0.9,
            )
        )
        if kept:
            x, y = ring.mean(axis=0).tolist()
            axes.text(x, y, name, fontsize=6, color=edge, ha="center", va="center", zorder=9)
    _shaft(axes, design, axis)
    # Mounts that lie behind each other in this view share one label.
    spots: dict[tuple[int, int], list[str]] = {}
    for hanger in design.hangers:
        x, y, z = design.located.places[hanger.mount.name].tolist()
        v = y if axis == 1 else z
        axes.plot([x], [v], marker="o", ms=4, mfc="white", mec=_MOUNT, mew=1.2, zorder=10)
        spots.setdefault((round(x / 15), round(v / 15)), []).append(hanger.mount.name)
    for hanger in design.hangers:
        x, y, z = design.located.places[hanger.mount.name].tolist()
        v = y if axis == 1 else z
        names = spots.pop((round(x / 15), round(v / 15)), [])
        if names:
            axes.annotate(
                f"{', '.join(names)}\n{x:.0f}, {v:.0f}",
                (x, v),
                xytext=(6, -4 if axis == 2 else (6 if y < 0 else -14)),
                textcoords="offset points",
                fontsize=6,
                color=_MOUNT,
                zorder=11,
                bbox={"facecolor": "white", "alpha": 0.75, "lw": 0, "pad": 0.6},
            )


def _shaft(axes: "Axes", design: RailDesign, axis: int) -> None:
    """Draw the shaft's line and the gearbox's face."""
    last = max(x for _, x in design.motors) + design.given.motor.length
    ends = design.pose(np.array([[-150.0, 0, 0], [last + 60.0, 0, 0]]))
    axes.plot(ends[:, 0], ends[:, axis], color="#1d4e89", lw=0.8, ls=(0, (12, 3, 2, 3)), zorder=7)
    face = design.pose(np.array([[0.0, -60, 0], [0.0, 60, 0]] if axis == 1 else [[0.0, 0, -60], [0.0, 0, 60]]))
    axes.plot(face[:, 0], face[:, axis], color="#1d4e89", lw=1.4, zorder=7)
    x, v = design.pose.shift[0], design.pose.shift[axis]
    axes.plot([x], [v], marker="+", ms=9, color="#1d4e89", zorder=8)
    axes.annotate(
        f"crank centre\non gearbox face\n{x:.0f}, {v:.0f}",
        (x, v),
        xytext=(4, -24),
        textcoords="offset points",
        fontsize=6,
        color="#1d4e89",
        zorder=9,
    )


def _outlines(item: Placed, design: RailDesign, axis: int) -> Iterator[Array]:
    """Yield the outlines (n, 2) of a piece's bodies as seen along Y or Z of the car."""
    stands = design.pose.after(item.pose)
    if isinstance(item.piece, Plate):
        flat = polygon(item.piece.outline, 0.5)
        both = np.vstack([np.column_stack([flat, np.full(len(flat), z)]) for z in (0.0, item.piece.thickness)])
        yield _hull(stands(both)[:, [0, axis]])
        return
    for body in item.piece.bodies():
        if isinstance(body, Round):
            yield _hull(_rims(body.start, body.axis, body.length, body.diameter, stands)[:, [0, axis]])
        elif not isinstance(item.piece, Extrusion) or item.piece.stock.shape != "tube":
            yield _hull(box_of(body, stands).corners()[:, [0, axis]])
    if isinstance(item.piece, Extrusion) and item.piece.stock.shape == "tube":
        s, n = item.piece.stock, item.piece.length
        corners = np.array([[x, y, z] for x in (0, s.width) for y in (0, s.height) for z in (0, n)], dtype=float)
        yield _hull(stands(corners)[:, [0, axis]])


def _rims(start: Array, axis: Array, length: float, diameter: float, stands: object) -> Array:
    from baywright.shape.pose import Pose

    assert isinstance(stands, Pose)
    side = np.eye(3)[int(np.abs(axis).argmin())]
    u = np.cross(axis, side)
    u = u / np.linalg.norm(u)
    v = np.cross(axis, u)
    turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    ring = diameter / 2 * (np.outer(np.cos(turn), u) + np.outer(np.sin(turn), v))
    return stands(np.vstack([start + ring, start + axis * length + ring]))


def _hull(points: Array) -> Array:
    """Return the convex hull (k, 2) of a few points."""
    from shapely import MultiPoint, get_coordinates

    ring: Array = get_coordinates(MultiPoint(points).convex_hull)
    return ring[:-1] if len(ring) > 3 else ring  # a ring's last corner is its first


def _tables(figure: "Figure", design: RailDesign, revision: str, page: tuple[float, float], left: float) -> None:
    """Write title, mounts, bars, diagonals and notes beside the views, from `left` mm on."""
    left = min(left, page[0] - _TABLES)
    side = figure.add_axes((left / page[0], 0.04, _TABLES / page[0], 1 - 12.0 / page[1] - 0.04))
    side.set_axis_off()
    shaft = design.pose.turn[:, 0]
    rise = float(np.degrees(np.arcsin(shaft[2])))
    heads = ("mount", "X", "Y", "Z")
    lines = [f"SETTING OUT  rails '{design.name}'  revision {revision}", ""]
    x, y, z = design.pose.shift.tolist()
    lines += [
        f"crank centre on gearbox face: {x:.1f}, {y:.1f}, {z:.1f}",
        f"shaft to the motor points to the {design.ask.shaft.toward}, rises {rise:+.2f}°",
        "",
        f"{heads[0]:<14}{heads[1]:>8}{heads[2]:>8}{heads[3]:>8}  {'±':<6}",
    ]
    rows = mount_rows(design)
    lines += [f"{r.name:<14}{r.place[0]:>8}{r.place[1]:>8}{r.place[2]:>8}  {r.spread:<6}" for r in rows]
    lines += ["", f"{'mount':<14}{'bolt':<22}{'hole in foot':<14}"]
    lines += [f"{r.name:<14}{r.bolt:<22}{r.hole:<14}" for r in rows]
    lines += ["", f"{'mount':<14}{'hangs on':<14}{'lean':<6}"]
    lines += [f"{r.name:<14}{r.bar:<14}{r.lean:<6}" for r in rows]
    lines += ["", "bars (sawn length)"]
    lines += [f"{b.mark:<14}{b.stock.name:<22}{b.high - b.low:>6.0f}" for b in design.bars.values()]
    lines += ["", "tape from mount to mount, before drilling"]
    lines += [f"{a:<14}{b:<14}{d:>8.1f}" for a, b, d in diagonals(design)]
    lines += [
        "",
        "Z is from the ground at ride height: set the car level.",
        "Round holes hold the shaft's line; slots take up the tape.",
        "Check with the steering at both locks, on its wheels,",
        "and with the suspension at full bump.",
    ]
    side.text(0.0, 1.0, "\n".join(lines), family="monospace", fontsize=7.2, va="top", linespacing=1.35)
