"""Pictures of an adapter: both bolt circles over one another, the clockings, the depth stack, each face."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from baywright.adapter.bolting import Bolted
from baywright.adapter.clocking import Arc, overlap
from baywright.adapter.design import AdapterDesign
from baywright.adapter.table import hole_table
from baywright.figure import new_figure, save_figure
from baywright.shape.loop import Loop, polygon
from baywright.shape.pattern import Side

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_INK, _MOTOR, _GEARBOX, _GREY, _WARN = "#1f3440", "#b8561a", "#2b6f8a", "#c9d3d9", "#c0392b"
_FILL = {
    "motor": "#e9c9ae",
    "shaft": "#d8b08c",
    "plate": "#dfe6ea",
    "coupler": "#f2e3a8",
    "bearing": "#8fa8b3",
    "flywheel": "#e5d3e8",
    "input": "#a9cfdd",
    "spline": "#7fb4c9",
    "bell": "#c7dde6",
}


def overlay_picture(design: AdapterDesign, path: Path) -> Path:
    """Write a picture of both faces' holes over one another, seen from the motor, and return the path."""
    figure = new_figure(8.5, 8.5)
    axes = figure.add_subplot()
    for at in design.plates:
        sign = 1.0 if at.seen_from == "motor" else -1.0
        plate = design.piece(at.mark)
        edge = polygon(plate.outline) * (sign, 1.0)
        axes.fill(edge[:, 0], edge[:, 1], facecolor="#eef2f4", edgecolor=_INK, linewidth=1.0, alpha=0.6, zorder=1)
        for hole in plate.holes:
            if not hole.line or hole.line in ("ring", "cradle") or hole.line.startswith("joining"):
                _loop(axes, hole.loop, sign, _GREY, 1.0)
    for holes, colour, side in (
        (design.motor_holes, _MOTOR, "motor"),
        (design.gearbox_holes, _GEARBOX, "gearbox"),
    ):
        _holes(axes, holes, colour)
        axes.plot([], [], color=colour, linewidth=2, label=f"{side}: {len(holes)} holes")
    arcs = [(Arc(f.name, *f.clocks).turned(design.clocking), _MOTOR) for f in design.given.motor.features]
    arcs += [(Arc(p.name, *p.clocks), _WARN) for p in design.given.ask.keep_out]
    drawn: list[tuple[Arc, int]] = []
    for arc, colour in arcs:
        # Arcs that share a part of the circle stand one outside the other.
        level = next(k for k in range(len(arcs)) if not any(o == k and overlap(arc, a) for a, o in drawn))
        drawn.append((arc, level))
        _sector(axes, arc, _reach(design) * (1.08 + 0.09 * level), colour)
    axes.plot([0], [0], marker="+", markersize=18, color=_INK)
    _frame(axes, f"{design.name}: both bolt circles, seen from the motor")
    axes.legend(loc="lower right", frameon=False)
    return save_figure(figure, path)


def clocking_picture(design: AdapterDesign, path: Path) -> Path:
    """Write a polar plot of the metal between the two patterns over the motor's clocking, and return the path."""
    tried, limit = design.clockings, design.given.ask.least_web
    order = np.argsort(tried.angles % 360)
    angles = tried.angles[order] % 360
    web = np.where(np.isfinite(tried.web[order]), tried.web[order], 0.0)
    legal = tried.legal[order]
    shown = np.clip(web, 0.0, None)
    top = max(float(shown.max(initial=0.0)) * 1.1, limit * 1.5)
    figure = new_figure(7.5, 7.5)
    axes = figure.add_subplot(projection="polar")
    axes.set_theta_zero_location("N")  # type: ignore[attr-defined]
    axes.set_theta_direction(-1)  # type: ignore[attr-defined]
    barred = np.append(~legal, ~legal[:1])
    round_ = np.radians(np.append(angles, angles[0] + 360))
    axes.fill_between(round_, 0, top, where=barred, step="mid", color="#f3d9d5", linewidth=0, zorder=1)
    if np.isfinite(tried.web).any():
        axes.plot(
            np.radians(np.append(angles, angles[0])), np.append(shown, shown[0]), color=_INK, linewidth=1.4, zorder=3
        )
        good = legal & (web >= limit)
        axes.scatter(np.radians(angles[good]), shown[good], s=8, color="#2e8b57", zorder=4, label="can be built")
    circle = np.linspace(0, 2 * np.pi, 181)
    axes.plot(circle, np.full(181, limit), color=_WARN, linewidth=1.0, linestyle="--", label=f"least web {limit:g} mm")
    k = int(np.argmin(np.abs((angles - design.clocking + 180) % 360 - 180)))
    axes.plot(
        [np.radians(design.clocking)] * 2,
        [0, top],
        color=_MOTOR,
        linewidth=2,
        zorder=5,
        label=f"built: {design.clocking:g} deg",
    )
    axes.scatter([np.radians(angles[k])], [shown[k]], s=60, color=_MOTOR, zorder=6)
    axes.bar(0, 0, color="#f3d9d5", label="a feature of the motor is in the way")
    axes.set_ylim(0, top)
    axes.set_title(
        f"{design.name}: metal between the bolt patterns, mm,\nover the motor's turn clockwise, seen from the motor"
    )
    axes.legend(loc="upper left", bbox_to_anchor=(-0.12, -0.02), frameon=False, ncols=2)
    return save_figure(figure, path)


def depth_picture(design: AdapterDesign, path: Path) -> Path:
    """Write the depth stack as half a section along the shaft, with its demands, and return the path."""
    from matplotlib.patches import Rectangle

    stack, motor = design.depth, design.given.motor
    spans = stack.spans
    figure = new_figure(11, 8)
    axes = figure.add_subplot()
    if not spans:
        text = f"{stack.thickness:g} mm as asked; no coupler described"
        axes.text(0.5, 0.5, text, ha="center", transform=axes.transAxes)
        axes.set_axis_off()
        return save_figure(figure, path)
    # What matters lies near the shaft: plates and bell are cut short.
    high = min(max(s.outer for s in spans), max(0.6 * motor.diameter, 20 + max(s.inner for s in spans)))
    small = []
    for span in spans:
        if span.kind == "gap":
            continue
        top = min(span.outer, high)
        axes.add_patch(
            Rectangle(
                (span.start, span.inner),
                span.end - span.start,
                max(top - span.inner, 0.0),
                facecolor=_FILL[span.kind],
                edgecolor=_INK,
                linewidth=0.9,
                zorder=2 if span.kind in ("motor", "plate", "bell") else 3,
            )
        )
        middle = (span.start + span.end) / 2, (span.inner + top) / 2
        if span.kind in ("motor", "plate", "bell"):
            tall = span.end - span.start < 40
            axes.annotate(span.name, middle, ha="center", va="center", fontsize=9, rotation=90 if tall else 0, zorder=6)
        else:
            small.append((middle, span.name))
    # Names of what lies on the shaft hang below it, side by side, so that none covers another.
    left, right = min(s.start for s in spans), max(s.end for s in spans)
    for number, ((x, y), name) in enumerate(sorted(small)):
        at = left + (right - left) * (number + 0.7) / (len(small) + 0.4)
        axes.annotate(
            name,
            (x, y),
            xytext=(at, -0.34 * high),
            ha="center",
            va="top",
            fontsize=9,
            zorder=7,
            arrowprops={"arrowstyle": "-", "color": _INK, "linewidth": 0.6},
        )
    axes.axhline(0, color=_INK, linewidth=0.8, linestyle="-.", zorder=5)
    here = 0.0
    for t in stack.layers:
        _dimension(axes, here, here + t, high * 1.06, f"{t:g}")
        here += t
    if len(stack.layers) > 1:
        _dimension(axes, 0.0, here, high * 1.18, f"{here:g}")
    gap = next(s for s in spans if s.kind == "gap")
    for edge in (gap.start, gap.end):
        axes.plot([edge, edge], [0, -0.05 * high], color=_WARN, linewidth=0.8, zorder=7)
    axes.text(
        (gap.start + gap.end) / 2, -0.1 * high, f"gap {gap.end - gap.start:.1f}", ha="center", color=_WARN, zorder=7
    )
    lines = []
    for check in stack.checks:
        state = "good" if check.room(check.worst) >= 0 else "measure" if check.room(check.likely) >= 0 else "NOT MET"
        low = "" if check.least is None else f" least {check.least:g}"
        most = "" if check.most is None else f" most {check.most:g}"
        off = f"± {check.worst:.1f} at worst, ± {check.likely:.1f} likely"
        lines.append(f"{check.name}: {check.value:.1f} mm {off};{low}{most}  [{state}]")
    axes.set_xlim(left - 5, right + 8)
    axes.set_ylim(-high * 0.5, high * 1.3)
    axes.set_aspect("equal")
    axes.set_xlabel("mm from the motor's face, towards the gearbox\n\n" + "\n".join(lines))
    axes.set_ylabel("mm off the shaft (plates and bell cut short)")
    axes.set_title(f"{design.name}: depth stack")
    return save_figure(figure, path)


def face_picture(design: AdapterDesign, mark: str, seen_from: Side, path: Path) -> Path:
    """Write one side of a plate with its holes numbered and their table beside it, and return the path."""
    at = next(p for p in design.plates if p.mark == mark)
    plate = design.piece(mark)
    sign = 1.0 if at.seen_from == seen_from else -1.0
    lines = hole_table(design, mark, seen_from)
    figure = new_figure(15, 9)
    axes, table = figure.subplots(1, 2, width_ratios=(1, 1.05))
    edge = polygon(plate.outline) * (sign, 1.0)
    axes.fill(edge[:, 0], edge[:, 1], facecolor="#f4f7f8", edgecolor=_INK, linewidth=1.4)
    for hole in plate.holes:
        blind = hole.depth < plate.thickness - 1e-6
        # From the other side a blind hole cannot be seen: dashed.
        hidden = blind and at.seen_from != seen_from
        _loop(axes, hole.loop, sign, _INK if not blind else _GEARBOX, 1.1, dashed=hidden)
    for line in lines:
        if line.radius < 1e-6:
            continue
        axes.plot([line.x], [line.y], marker="+", markersize=7, color=_GREY)
        away = np.array([line.x, line.y]) / line.radius
        axes.annotate(
            str(line.number),
            (line.x, line.y),
            xytext=(11 * away[0], 11 * away[1]),
            textcoords="offset points",
            fontsize=8,
            ha="center",
            va="center",
            color=_MOTOR,
        )
    axes.plot([0], [0], marker="+", markersize=18, color=_INK)
    side = "" if at.seen_from == seen_from else " (the cut file shows the other side)"
    _frame(
        axes, f"{design.name}: {mark}, {plate.material}, {at.thickness:g} mm\nSEEN FROM THE {seen_from.upper()}{side}"
    )
    table.set_axis_off()
    head = f"{'no':>3} {'x':>9} {'y':>9} {'radius':>8} {'clock':>8}  {'size':<15} note"
    rows = [head] + [
        f"{n.number:>3} {n.x:>9.3f} {n.y:>9.3f} {n.radius:>8.3f} {n.clock:>8.3f}  {n.size_text:<15} {_short(n.note)}"
        for n in lines
    ]
    size = 7.5 if len(rows) <= 48 else max(3.5, 7.5 * 48 / len(rows))
    table.text(0.0, 1.0, "\n".join(rows), transform=table.transAxes, va="top", family="monospace", fontsize=size)
    return save_figure(figure, path)


def _short(note: str) -> str:
    return note if len(note) <= 46 else note[:45] + "…"


def _holes(axes: "Axes", holes: Sequence[Bolted], colour: str) -> None:
    from matplotlib.patches import Circle

    for one in holes:
        at = (one.hole.x, one.hole.y)
        axes.add_patch(Circle(at, one.cut / 2, fill=False, edgecolor=colour, linewidth=1.8, zorder=4))
        if one.head_wide:
            axes.add_patch(
                Circle(at, one.head_wide / 2, fill=False, edgecolor=colour, linewidth=0.7, linestyle=":", zorder=4)
            )
        if one.sink_wide:
            axes.add_patch(Circle(at, one.sink_wide / 2, fill=False, edgecolor=colour, linewidth=0.9, zorder=4))
        away = np.array(at) / max(float(np.hypot(*at)), 1e-9)
        axes.annotate(
            one.hole.name,
            at,
            xytext=(15 * away[0], 15 * away[1]),
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=9,
            color=colour,
            fontweight="bold",
        )


def _loop(axes: "Axes", loop: Loop, sign: float, colour: str, width: float, dashed: bool = False) -> None:
    p = polygon(loop) * (sign, 1.0)
    p = np.concatenate([p, p[:1]])
    axes.plot(p[:, 0], p[:, 1], color=colour, linewidth=width, linestyle="--" if dashed else "-", zorder=3)


def _sector(axes: "Axes", arc: Arc, radius: float, colour: str) -> None:
    """Draw a part of the circle as a thick arc with its name."""
    a = np.radians(np.linspace(arc.first, arc.first + arc.width, 40))
    axes.plot(radius * np.sin(a), radius * np.cos(a), color=colour, linewidth=5, alpha=0.55, solid_capstyle="butt")
    m = np.radians(arc.first + arc.width / 2)
    axes.annotate(
        arc.name,
        (radius * np.sin(m), radius * np.cos(m)),
        xytext=(12 * np.sin(m), 12 * np.cos(m)),
        textcoords="offset points",
        fontsize=8,
        ha="center",
        va="center",
        color=colour,
    )


def _reach(design: AdapterDesign) -> float:
    """Return how far any outline reaches from the shaft, mm."""
    return max(float(np.hypot(*polygon(design.piece(at.mark).outline).T).max()) for at in design.plates)


def _frame(axes: "Axes", title: str) -> None:
    axes.set_aspect("equal")
    axes.margins(0.1)
    axes.set_xlabel("mm right of the shaft")
    axes.set_ylabel("mm above the shaft")
    axes.set_title(title)
    axes.grid(True, color="#eef2f4", linewidth=0.6)


def _dimension(axes: "Axes", start: float, end: float, y: float, text: str, colour: str = _INK) -> None:
    axes.annotate("", (start, y), (end, y), arrowprops={"arrowstyle": "<->", "color": colour, "linewidth": 0.9})
    axes.annotate(
        text,
        ((start + end) / 2, y),
        xytext=(0, 6 if y > 0 else -9),
        textcoords="offset points",
        ha="center",
        fontsize=9,
        color=colour,
    )
