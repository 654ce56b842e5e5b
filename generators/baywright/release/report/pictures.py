"""Flat pictures of the page as SVG: balance, clearances in a bay, cut files; colours come from the page's style."""

from collections.abc import Callable, Sequence
from html import escape

import numpy as np
from numpy.typing import NDArray

from baywright.bay.envelope import Bay, Upright
from baywright.bay.fit import FitResult
from baywright.piece.solid import Block
from baywright.release.drawing.svgpath import path_of
from baywright.shape.pose import Pose
from baywright.shape.profile import Profile
from baywright.vehicle.balance import Balance
from baywright.vehicle.car import Car

Array = NDArray[np.float64]


def _svg(width: float, height: float, body: str, label: str, css: str = "") -> str:
    return (
        f'<svg class="{css}" viewBox="0 0 {width:.0f} {height:.0f}" role="img" aria-label="{escape(label, True)}"'
        f' xmlns="http://www.w3.org/2000/svg">{body}</svg>'
    )


def _text(x: float, y: float, text: str, css: str = "", anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" class="{css}" text-anchor="{anchor}">{escape(text)}</text>'


def _rect(x: float, y: float, width: float, height: float, css: str) -> str:
    return f'<rect class="{css}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


def axes_mark(x: float, y: float, right: str, up: str) -> str:
    """Return two small arrows with the names of the axes that run to the right and up; "-X" where X runs back."""
    text = f'<path class="axis" d="M{x:.0f} {y:.0f}h30m-5 -4l5 4l-5 4M{x:.0f} {y:.0f}v-30m-4 5l4 -5l4 5"/>'
    return text + _text(x + 36, y + 4, right, "axisname") + _text(x, y - 36, up, "axisname", "middle")


def balance_bars(car: Car, whole: Balance) -> str:
    """Return the loads on front axle, rear axle and in all, before, stripped and after, against their ratings."""
    states = (whole.before, whole.stripped, whole.after)
    ratings = car.ratings
    rows = (
        ("front axle", [s.front for s in states], ratings.front),
        ("rear axle", [s.rear for s in states], ratings.rear),
        ("whole car", [s.mass for s in states], ratings.gross),
    )
    most = max([*(v for _, values, _ in rows for v in values), *(r for *_, r in rows if r is not None)]) * 1.05
    scale, left, bar, gap = 560 / most, 96.0, 17.0, 30.0
    y, body, said = 22.0, "", []
    for name, values, rating in rows:
        top = y
        body += _text(left - 10, y + 1.75 * bar, name, "label", "end")
        for state, value in zip(states, values, strict=True):
            body += _rect(left, y, value * scale, bar - 3, f"bar {state.name}")
            body += _text(left + 6, y + bar - 6.5, f"{value:.0f} kg {state.name}", "onbar")
            y += bar
        if rating is not None:
            x = left + rating * scale
            body += f'<path class="limit" d="M{x:.1f} {top - 5:.1f}V{y + 2:.1f}"/>'
            body += _text(x, top - 8, f"rated {rating:.0f}", "limitname", "middle")
        said.append(f"{name} {values[0]:.0f} kg before, {values[2]:.0f} after")
        y += gap
    return _svg(690, y - gap + 8, body, "Loads: " + "; ".join(said), "wide")


def balance_plan(car: Car, whole: Balance, boxes: Sequence[tuple[str, Block, Pose]]) -> str:
    """Return the car from above, front at the left: wheels, what goes in and out, boxes, the centroid's way.

    Args:
        car: the car.
        whole: its balance.
        boxes: name, block in its own frame (mm) and pose of each box.
    """
    front, rear = (track or 1300.0 for track in (car.track_front, car.track_rear))
    half = max(front, rear) / 2 + 190
    low, high = np.array([-560.0, -half]), np.array([car.wheelbase + 560.0, half])
    scale = 660 / (high[0] - low[0])
    wide, tall = (high - low) * scale

    def at(x: float, y: float) -> tuple[float, float]:
        return (x - low[0]) * scale + 10, (high[1] - y) * scale + 10

    body = ""
    for x, track in ((0.0, front), (car.wheelbase, rear)):
        (u, v), (_, w) = at(x, track / 2), at(x, -track / 2)
        body += f'<path class="thin" d="M{u:.1f} {v:.1f}V{w:.1f}"/>'
        for y in (track / 2, -track / 2):
            u, v = at(x - 300, y + 80)
            body += _rect(u, v, 600 * scale, 160 * scale, "wheel")
    (u, v), (w, _) = at(low[0], 0), at(high[0], 0)
    body += f'<path class="middle" d="M{u:.1f} {v:.1f}H{w:.1f}"/>'
    for name, block, pose in boxes:
        flat = block.moved(pose)
        u, v = at(float(flat.low[0]), float(flat.high[1]))
        size = (flat.high - flat.low) * scale
        body += _rect(u, v, size[0], size[1], "box")
        body += _text(u + size[0] / 2, v + size[1] - 6, name, "small", "middle")
    for items, kind in ((whole.removed, "out"), ([i for i in whole.added if i.body is None], "in")):
        for item in items:
            u, v = at(item.x, item.y or 0.0)
            body += (
                f'<circle class="{kind}" cx="{u:.1f}" cy="{v:.1f}" r="{2 + 1.35 * item.mass**0.5:.1f}">'
                f"<title>{escape(item.name)}, {item.mass:.1f} kg {kind}</title></circle>"
            )
    places = []
    for state in (whole.before, whole.stripped, whole.after):
        u, v = at(state.x, state.y or 0.0)
        places.append(f"{u:.1f} {v:.1f}")
        dot = f'<circle class="centre {state.name}" cx="{u:.1f}" cy="{v:.1f}" r="6">'
        body += f"{dot}<title>centroid {state.name}</title></circle>"
    body = f'<path class="way" d="M{"L".join(places)}"/>' + body + axes_mark(22, tall - 4, "X", "Y")
    label = (
        f"Car from above, front at the left: centroid {whole.before.x:.0f} mm behind the front axle before, "
        f"{whole.after.x:.0f} mm after"
    )
    return _svg(wide + 20, tall + 20, body, label, "wide")


_VIEWS = {"from above": (0, 1), "from the left side": (0, 2), "from behind": (1, 2)}
# From a wall of the bay into the box, along X, Y and Z.
_INWARD = {
    "front": (1.0, 0.0, 0.0),
    "rear": (-1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "right": (0.0, -1.0, 0.0),
    "above": (0.0, 0.0, -1.0),
    "below": (0.0, 0.0, 1.0),
}
_SHOWN_SIDES = {
    "from above": ("front", "rear", "left", "right"),
    "from the left side": ("front", "rear", "above", "below"),
    "from behind": ("left", "right", "above", "below"),
}


def clearance_view(view: str, bay: Bay, fit: FitResult, blocks: Sequence[Block]) -> str:
    """Return a box in its bay with the least clearance on each side, one view of three.

    Args:
        view: "from above", "from the left side" or "from behind".
        bay: the bay.
        fit: how the box stands in it.
        blocks: the blocks of the box's pieces, vehicle frame, mm.
    """
    i, j = _VIEWS[view]
    outlines = [_flat(space, i, j) for space in bay.spaces]
    things = [(thing.name, _flat(thing, i, j)) for thing in bay.keep_outs]
    every = np.concatenate([*outlines, *(t for _, t in things), *([b.low[i], b.low[j]] for b in blocks)], axis=None)
    every = every.reshape(-1, 2)
    low = np.minimum(every.min(axis=0), np.min([b.low[[i, j]] for b in blocks], axis=0))
    high = np.maximum(every.max(axis=0), np.max([b.high[[i, j]] for b in blocks], axis=0))
    scale = 300 / float(max(high - low))
    pad = 46.0
    wide, tall = (high - low) * scale + 2 * pad

    def at(p: Array) -> tuple[float, float]:
        return float((p[0] - low[0]) * scale + pad), float((high[1] - p[1]) * scale + pad)

    def ring(points: Array) -> str:
        return "M" + "L".join("{:.1f} {:.1f}".format(*at(p)) for p in points) + "Z"

    body = "".join(f'<path class="bay" d="{ring(o)}"/>' for o in outlines)
    for name, outline in things:
        body += f'<path class="keep" d="{ring(outline)}"><title>{escape(name)}</title></path>'
    for block in blocks:
        u, v = at(np.array([block.low[i], block.high[j]]))
        size = (block.high - block.low)[[i, j]] * scale
        body += _rect(u, v, size[0], size[1], "piece")
    said = []
    for side in fit.sides:
        if side.side not in _SHOWN_SIDES[view]:
            continue
        inward = np.array(_INWARD[side.side])[[i, j]]
        body += _gap(inward, side.nominal, side.verdict, np.array(side.at)[[i, j]], at)
        said.append(f"{side.nominal:.0f} mm {side.side}")
    body += axes_mark(14, tall - 8, "XYZ"[i], "XYZ"[j])
    return _svg(wide, tall, body, f"{fit.name} in bay {bay.name} {view}: {', '.join(said)}", "third")


def _gap(inward: Array, size: float, verdict: str, wall: Array, at: Callable[[Array], tuple[float, float]]) -> str:
    """Return a line from a wall to the nearest piece, with its length in mm."""
    (u, v), (w, z) = at(wall), at(wall + inward * size)
    # The number stands outside the bay's wall, where nothing else is.
    x, y = u - 6 * inward[0], v + 6 * inward[1]
    anchor = {1.0: "end", -1.0: "start", 0.0: "middle"}[float(inward[0])]
    shift = 4.0 if inward[0] else (0.0 if inward[1] < 0 else 9.0)
    text = _text(x, y + shift, f"{size:.0f}", f"gapname {verdict}", anchor)
    return f'<path class="gap {verdict}" d="M{u:.1f} {v:.1f}L{w:.1f} {z:.1f}"/>' + text


def _flat(thing: Upright, i: int, j: int) -> Array:
    """Return a prism's outline in a view (n, 2) mm: its plan from above, else the rectangle of its reach."""
    if (i, j) == (0, 1):
        return thing.outline
    a, b = thing.outline[:, i].min(), thing.outline[:, i].max()
    return np.array([[a, thing.low], [b, thing.low], [b, thing.high], [a, thing.high]])


def cut_preview(shape: Profile, blind: Sequence[Array] = ()) -> str:
    """Return a plate as its cut file shows it, with its axes; blind holes in another colour."""
    x0, y0, x1, y1 = shape.bounds()
    wide, tall = 250.0, 165.0
    scale = min((wide - 20) / (x1 - x0), (tall - 65) / (y1 - y0))
    across, down = (wide - (x0 + x1) * scale) / 2, (tall - 45 + (y0 + y1) * scale) / 2
    place = f"translate({across:.3f} {down:.3f}) scale({scale:.5f})"
    body = f'<g transform="{place}"><path class="metal" d="{path_of([shape.outer, *shape.holes])}"/>'
    if len(blind):
        body += f'<path class="blind" d="{path_of(blind)}"/>'
    body += "</g>" + axes_mark(10, tall - 8, "x", "y")
    return _svg(wide, tall, body, f"{x1 - x0:.1f} by {y1 - y0:.1f} mm, {len(shape.holes)} holes through", "cut")
