"""The balance to look at: the car in plan and from the side, what goes out and in, the axles before and after."""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from baywright.figure import new_figure
from baywright.piece.solid import Block
from baywright.vehicle.balance import Balance
from baywright.vehicle.car import Car, Item
from baywright.vehicle.scatter import Array, Scatter, Spread
from baywright.vehicle.state import State

_Spans = tuple[tuple[float, float], tuple[float, float], tuple[float, float]]

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Tell-apart colours for everybody (Okabe and Ito's set, from memory), dark enough to print.
COLOURS = {"before": "#595959", "stripped": "#E69F00", "after": "#0072B2"}
_OUT, _IN, _BOX = "#B04A00", "#0072B2", "#009E73"
# A plane normal scatter holds 95 % within this many standard deviations: the root of chi-squared(2) = 5.991.
_ELLIPSE = 5.991**0.5
# For the picture only, where nothing was measured: radius of a wheel, and a track, mm.
_WHEEL = 300.0
_TRACK = 1300.0
_KEY_ROWS = 5
_KEY_MOST = 60  # items; a car has a dozen or two


def balance_figure(
    car: Car, whole: Balance, spread: Scatter | None = None, boxes: Sequence[tuple[str, Block]] = ()
) -> "Figure":
    """Return a picture of a car's balance.

    Args:
        car: the car.
        whole: its balance.
        spread: its bands, for ellipses and error bars; without them only dots are drawn.
        boxes: name and outside of each box in its place (vehicle frame, mm), to be drawn as it is.
    """
    spans = _spans(car, whole)
    wide, across, tall = (high - low for low, high in spans)
    # The same scale from above and from the side, eight inches wide; the key takes what it needs.
    scale, key = 8.0 / wide, 0.2 * _key_rows(len(_items(whole))) + 0.2
    heights = (max(across * scale, 2.5), max(tall * scale, 1.6), key)
    figure = new_figure(13.0, sum(heights) + 1.9)
    grid = figure.add_gridspec(3, 2, height_ratios=heights, width_ratios=(8.0, 3.9))
    _from_above(figure.add_subplot(grid[0, 0]), car, whole, spans, boxes)
    _from_the_side(figure.add_subplot(grid[1, 0]), car, whole, spans, boxes)
    _loads(figure.add_subplot(grid[0, 1]), car, whole, spread)
    _zoom(figure.add_subplot(grid[1, 1]), whole, spread)
    _key(figure.add_subplot(grid[2, :]), whole)
    a = whole.after
    figure.suptitle(
        f"{car.name}: {whole.before.mass:.0f} kg → {a.mass:.0f} kg, front share {whole.before.front_share:.1f} % → "
        f"{a.front_share:.1f} % ({whole.share_change:+.1f} points)",
        fontsize=13,
    )
    return figure


def _spans(car: Car, whole: Balance) -> _Spans:
    """Return from where to where the picture reaches along X, Y and Z, mm."""
    items = [i for _, i, _ in _items(whole)]
    xs = [0.0, car.wheelbase, *(i.x for i in items)]
    reach = max(car.track_front or _TRACK, car.track_rear or _TRACK) / 2 + 330
    reach = max([reach, *(abs(i.y) + 200 for i in items if i.y is not None)])
    top = max([2 * _WHEEL, *(i.z for i in items if i.z is not None)])
    return (min(xs) - 480, max(xs) + 480), (-reach, reach), (-80.0, top + 220)


def _items(whole: Balance) -> list[tuple[int, Item, str]]:
    """Return every item with its number in the picture and whether it goes "out", "in", or is a box that goes in."""
    kinds = [(i, "out") for i in whole.removed] + [(i, "in" if i.body is None else "box") for i in whole.added]
    return [(number, item, kind) for number, (item, kind) in enumerate(kinds, 1)]


def _states(whole: Balance, spread: Scatter | None) -> list[tuple[State, Spread | None]]:
    spreads = (None, None, None) if spread is None else (spread.before, spread.stripped, spread.after)
    return list(zip((whole.before, whole.stripped, whole.after), spreads, strict=True))


def _from_above(axes: "Axes", car: Car, whole: Balance, spans: _Spans, boxes: Sequence[tuple[str, Block]]) -> None:
    from matplotlib.patches import Rectangle

    for x, track in ((0.0, car.track_front), (car.wheelbase, car.track_rear)):
        half = (track or _TRACK) / 2
        axes.plot([x, x], [-half, half], color="0.55", lw=2, zorder=1)
        for y in (-half, half):
            axes.add_patch(Rectangle((x - _WHEEL, y - 80), 2 * _WHEEL, 160, fc="0.85", ec="0.4", zorder=1))
    axes.axhline(0, color="0.75", lw=0.8, ls="-.", zorder=0)
    _outlines(axes, boxes, 1)
    _bubbles(axes, whole, [(n, i, k, 0.0 if i.y is None else i.y) for n, i, k in _items(whole)], bool(boxes))
    for state in (whole.before, whole.stripped, whole.after):
        axes.plot(state.x, state.y or 0.0, "o", ms=9, mfc=COLOURS[state.name], mec="white", zorder=6)
    if car.track_front is not None and car.track_rear is not None and whole.before.corners and whole.after.corners:
        for (x, y), before, after in zip(
            ((0, -1), (0, 1), (car.wheelbase, -1), (car.wheelbase, 1)),
            whole.before.corners.as_tuple(),
            whole.after.corners.as_tuple(),
            strict=True,
        ):
            half = (car.track_front if x == 0 else car.track_rear) / 2
            axes.annotate(
                f"{before:.0f} → {after:.0f} kg",
                (x, y * (half + 105)),
                ha="center",
                va="top" if y < 0 else "bottom",
                fontsize=9,
            )
    axes.set_ylabel("Y, mm (car's right is up)")
    axes.set_title(
        "from above, front at the left; dashed: comes out, blue: goes in, green: boxes", fontsize=10, loc="left"
    )
    axes.set_xlim(*spans[0])
    axes.set_ylim(*spans[1])
    axes.set_aspect("equal", adjustable="box")
    _frame(axes, ("X", "Y"))


def _from_the_side(axes: "Axes", car: Car, whole: Balance, spans: _Spans, boxes: Sequence[tuple[str, Block]]) -> None:
    from matplotlib.patches import Circle

    axes.axhline(0, color="0.4", lw=1.2, zorder=0)
    for x in (0.0, car.wheelbase):
        axes.add_patch(Circle((x, _WHEEL), _WHEEL, fc="0.92", ec="0.5", zorder=0))
        axes.plot([x], [_WHEEL], "+", color="0.4", ms=8)
    _outlines(axes, boxes, 2)
    _bubbles(axes, whole, [(n, i, k, i.z) for n, i, k in _items(whole) if i.z is not None], bool(boxes))
    known = [(s, s.z) for s in (whole.before, whole.stripped, whole.after) if s.z is not None]
    for state, height in known:
        axes.plot(state.x, height, "o", ms=9, mfc=COLOURS[state.name], mec="white", zorder=6)
    if not known:
        axes.text(0.5, 0.9, "height of the centroid not known", transform=axes.transAxes, ha="center", fontsize=9)
    axes.set_xlim(*spans[0])
    axes.set_ylim(*spans[2])
    axes.set_xlabel("X, mm behind the front axle")
    axes.set_ylabel("Z, mm above ground")
    axes.set_title("from the left side", fontsize=10, loc="left")
    axes.set_aspect("equal", adjustable="box")
    _frame(axes, ("X", "Z"))


def _outlines(axes: "Axes", boxes: Sequence[tuple[str, Block]], up: int) -> None:
    """Draw boxes as they are, in plan (`up` 1) or from the side (2)."""
    from matplotlib.patches import Rectangle

    for _, block in boxes:
        low, high = block.low, block.high
        size = high - low
        axes.add_patch(Rectangle((low[0], low[up]), size[0], size[up], fc=_BOX, ec=_BOX, alpha=0.28, lw=1.4, zorder=2))


def _bubbles(axes: "Axes", whole: Balance, items: Sequence[tuple[int, Item, str, float]], outlined: bool) -> None:
    """Draw items as discs whose area goes with their mass: hollow goes out, filled goes in; numbers side by side."""
    heaviest = max((i.mass for _, i, _, _ in items), default=1.0)
    written: list[tuple[float, float]] = []
    for number, item, kind, height in sorted(items, key=lambda i: -i[1].mass):
        colour = {"out": _OUT, "in": _IN, "box": _BOX}[kind]
        if kind != "box" or not outlined:
            size = 1500 * item.mass / heaviest + 90
            style = (
                {"facecolors": "none", "linestyles": "--"} if kind == "out" else {"facecolors": colour, "alpha": 0.35}
            )
            axes.scatter([item.x], [height], s=size, edgecolors=colour, linewidths=1.4, zorder=3, **style)
        x, y = _free(written, item.x, height)
        written.append((x, y))
        axes.annotate(
            str(number), (x, y), ha="center", va="center", fontsize=8.5, color=colour, weight="bold", zorder=7
        )


def _free(written: Sequence[tuple[float, float]], x: float, y: float) -> tuple[float, float]:
    """Return the nearest of a few spots round a place where no number stands yet, mm."""
    spots = [(0, 0), (110, 0), (-110, 0), (0, 75), (0, -75), (110, 75), (-110, 75), (110, -75), (-110, -75)]
    for dx, dy in spots:
        if all(abs(x + dx - a) > 90 or abs(y + dy - b) > 60 for a, b in written):
            return x + dx, y + dy
    return x, y


def _frame(axes: "Axes", names: tuple[str, str]) -> None:
    """Draw the axes' directions in a corner."""
    for (dx, dy), name in zip(((0.045, 0.0), (0.0, 0.13)), names, strict=True):
        axes.annotate(
            "",
            (0.02 + dx, 0.05 + dy),
            (0.02, 0.05),
            xycoords="axes fraction",
            textcoords="axes fraction",
            arrowprops={"arrowstyle": "->", "color": "0.2"},
        )
        axes.text(0.025 + dx, 0.055 + dy, name, transform=axes.transAxes, fontsize=9, color="0.2")
    axes.tick_params(labelsize=8)
    axes.grid(color="0.93", zorder=-1)


def _loads(axes: "Axes", car: Car, whole: Balance, spread: Scatter | None) -> None:
    ratings = car.ratings
    groups = [("front axle", "front", ratings.front), ("rear axle", "rear", ratings.rear)]
    groups += [("whole car", "mass", ratings.gross)]
    height = 0.24
    for row, (label, field, rating) in enumerate(groups):
        for k, (state, band) in enumerate(_states(whole, spread)):
            value, y = getattr(state, field), row + (k - 1) * (height + 0.02)
            error = None
            if band is not None:
                b = getattr(band, field)
                error = [[max(value - b.low, 0.0)], [max(b.high - value, 0.0)]]
            axes.barh(y, value, height, color=COLOURS[state.name], xerr=error, ecolor="0.2", capsize=2)
            axes.text(value * 0.02 + 4, y, f"{value:.0f}", va="center", fontsize=8, color="white", weight="bold")
        if rating is not None:
            axes.plot([rating, rating], [row - 0.42, row + 0.42], color="#CC0000", lw=2)
            axes.text(rating, row - 0.44, f"rating {rating:.0f}", ha="center", va="bottom", fontsize=8, color="#CC0000")
        axes.text(0, row - 0.44, label, va="bottom", fontsize=9)
    axes.set_ylim(len(groups) - 0.5, -0.75)
    axes.set_yticks([])
    axes.set_xlabel("kg" + ("; whiskers: 95 %" if spread is not None else ""))
    axes.set_title("loads", fontsize=10, loc="left")
    axes.tick_params(labelsize=8)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)


def _zoom(axes: "Axes", whole: Balance, spread: Scatter | None) -> None:
    """Draw where the centroid went, in plan, or from the side where no corner was weighed, with 95 % ellipses."""
    states = _states(whole, spread)
    plan = all(s.y is not None for s, _ in states)
    side = not plan and all(s.z is not None for s, _ in states)
    points = [(s.x, (s.y if plan else s.z if side else 0.0) or 0.0) for s, _ in states]
    for (x, y), (state, band) in zip(points, states, strict=True):
        axes.plot(x, y, "o", ms=8, mfc=COLOURS[state.name], mec="white", zorder=5, label=state.name)
        matrix = None if band is None else band.plan if plan else band.side
        if matrix is not None:
            outline = _ellipse(matrix)
            axes.fill(x + outline[:, 0], y + outline[:, 1], color=COLOURS[state.name], alpha=0.22, lw=0)
        elif band is not None:
            axes.plot([band.x.low, band.x.high], [y, y], color=COLOURS[state.name], lw=3, alpha=0.4)
    for (x0, y0), (x1, y1) in pairwise(points):
        axes.annotate(
            "", (x1, y1), (x0, y0), arrowprops={"arrowstyle": "->", "color": "0.5", "shrinkA": 6, "shrinkB": 6}
        )
    axes.margins(0.25)
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel("X, mm behind the front axle")
    axes.set_ylabel("Y, mm" if plan else "Z, mm" if side else "")
    axes.set_title("the centroid" + (" with its 95 % ellipse" if spread is not None else ""), fontsize=10, loc="left")
    axes.tick_params(labelsize=8)
    axes.grid(color="0.93", zorder=-1)
    axes.legend(fontsize=8, loc="best", framealpha=0.9)


def _ellipse(matrix: Array) -> Array:
    """Return the outline (60, 2) of the ellipse that holds 95 % of a plane normal scatter with this covariance."""
    values, vectors = np.linalg.eigh(matrix)
    t = np.linspace(0, 2 * np.pi, 60)
    circle = np.stack([np.cos(t), np.sin(t)])
    outline: Array = (vectors @ (np.sqrt(np.maximum(values, 0))[:, None] * circle)).T * _ELLIPSE
    return outline


def _key_rows(count: int) -> int:
    """Return how many rows the key of so many items takes in its three columns."""
    return max(_KEY_ROWS, math.ceil(min(count, _KEY_MOST) / 3))


def _key(axes: "Axes", whole: Balance) -> None:
    """Write what the numbers mean, in columns."""
    axes.set_axis_off()
    items = _items(whole)
    rows = _key_rows(len(items))
    most = len(items) if len(items) <= _KEY_MOST else _KEY_MOST - 1
    if most < len(items):
        text = f"and {len(items) - most} more"
        axes.text(0.68, 1 / rows, text, fontsize=8, transform=axes.transAxes, va="top")
    for k, (number, item, kind) in enumerate(items[:most]):
        x, y = (k // rows) * 0.34, 1.0 - (k % rows) / rows
        sign, colour = ("−", _OUT) if kind == "out" else ("+", _IN if kind == "in" else _BOX)
        axes.text(x, y, f"{number:2d}", fontsize=8, color=colour, weight="bold", transform=axes.transAxes, va="top")
        axes.text(x + 0.02, y, f"{sign}{item.mass:.1f} kg  {item.name}", fontsize=8, transform=axes.transAxes, va="top")
