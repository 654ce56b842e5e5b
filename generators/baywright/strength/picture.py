"""The load path as a picture: the box cut across, what throws it, and what each step of the way to the car takes."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from html import escape

import numpy as np

from baywright.box.generate import BoxDesign
from baywright.finding import Verdict
from baywright.job.loads import LoadCase
from baywright.strength.box import calculations
from baywright.strength.check import Calculation
from baywright.strength.path import Statics, Throw, throws
from baywright.strength.verdict import governing

_SCALE = 0.62  # of a picture's unit to a millimetre
_MARGIN, _LIST, _ARROW = 105.0, 430.0, 85.0
# What is drawn, from behind to the front, and how.
_DRAWN = {
    "module": "#eef2f6",
    "long wall": "#c9d2da",
    "end wall": "#c9d2da",
    "floor": "#aab6c0",
    "lid": "#c9d2da",
    "bearer": "#e4c07a",
    "floor bar": "#e4c07a",
    "clamp bar": "#e4c07a",
    "ledge": "#d08c4a",
    "floor angle": "#d08c4a",
    "foot": "#7c8a97",
}
_COLOUR: dict[Verdict, str] = {"pass": "#2f7d32", "look": "#b26a00", "fail": "#b3261e"}
# The steps of the way: the member, the symbols of its calculation that say what it takes, and what they are.
_STEPS = (
    ("module hold-downs", (("V", "shear"), ("N", "pull"))),
    ("tie rods", (("V", "shear"), ("N", "pull"))),
    ("bearer ends", (("R_x", "along the box"), ("Y", "along the bearer"), ("R_z", "upright"))),
    ("floor bars", (("V_b", "level"), ("N_b", "upward"))),
    ("corner joints", (("V_c", "along the corner"), ("N_c", "across it"))),
    ("floor joints", (("V", "shear of floor and angle"), ("V_all", "shear of floor and angle"))),
    ("feet, upright leg", (("R_x", "along"), ("R_y", "across"), ("R_z", "upright"))),
    ("bolts to the car", (("V", "shear"), ("N", "pull"))),
)


def force_svg(design: BoxDesign, cases: Sequence[LoadCase]) -> str:
    """Return the forces of the level throw that uses the feet (without feet: anything) most, as an SVG drawing.

    The box is drawn in the plane of the throw. Red: what each layer of modules and the rest of the box push; blue: what
    the car does to the feet of either side. The numbers beside it are those of the calculation sheets.
    """
    done = calculations(design, cases)
    if not done:
        return ""
    level = [c for c in done if not c.throw.split(" x ")[0].endswith((" up", " down"))] or list(done)
    of_feet = [c for c in level if c.member.startswith("feet") and not c.alone] or level
    worst = max(of_feet, key=lambda c: c.use)
    case = next(c for c in cases if c.name == worst.case)
    throw = next(t for t in throws(case, design.layout.ask.yaw) if t.text == worst.throw)
    axis = int(np.argmax(np.abs(throw.force[:2])))
    sign = -1.0 if axis == 1 else 1.0  # seen from the service end y runs to the left: mirrored, it runs to the right
    return _Picture(design, throw, axis, sign, case, done).svg()


class _Picture:
    """One drawing while it is made: box frame mm to the picture's units."""

    def __init__(
        self,
        design: BoxDesign,
        throw: Throw,
        axis: int,
        sign: float,
        case: LoadCase,
        done: Sequence[Calculation],
    ) -> None:
        self.design, self.throw, self.axis, self.sign, self.case, self.done = design, throw, axis, sign, case, done
        block = design.size
        ends = sorted((sign * float(block.low[axis]), sign * float(block.high[axis])))
        self.left, self.top = ends[0], float(block.high[2])
        self.wide = _SCALE * (ends[1] - ends[0]) + 2 * _MARGIN
        self.high = _SCALE * (self.top - float(block.low[2])) + 2 * _MARGIN

    def at(self, u: float, z: float) -> tuple[float, float]:
        return _MARGIN + _SCALE * (self.sign * u - self.left), _MARGIN + _SCALE * (self.top - z)

    def svg(self) -> str:
        title = f"Forces in box {self.design.name}: {self.throw.text}, case {self.case.name}"
        total, steps = self.wide + _LIST, list(self._list())
        high = max(self.high, 70 + 34.0 * len(steps) / 3)  # three lines of drawing a step
        view = f'viewBox="0 0 {total:.0f} {high:.0f}" width="{total:.0f}" style="max-width: 100%"'
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" {view} font-family="sans-serif" font-size="12" role="img" '
            f'aria-label="{escape(title)}">'
        )
        name = f'<text x="10" y="22" font-size="14" font-weight="bold">{escape(title)}</text>'
        return "\n".join([head, name, *self._pieces(), *self._pushes(), *self._holds(), *steps, "</svg>\n"])

    def _pieces(self) -> Iterator[str]:
        order = list(_DRAWN)
        # What lies in the plane of the drawing would hide the modules.
        walls = ("service", "blind") if self.axis == 1 else ("right", "left")
        hidden = {f"{what} {wall}" for wall in walls for what in ("wall", "floor angle")}
        shown = [p for p in self.design.assembly.placed if p.piece.role in _DRAWN and p.mark not in hidden]
        for item in sorted(shown, key=lambda p: order.index(p.piece.role)):
            for block in item.blocks():
                x0, y0 = self.at(float(block.low[self.axis]), float(block.high[2]))
                x1, y1 = self.at(float(block.high[self.axis]), float(block.low[2]))
                yield (
                    f'<rect x="{min(x0, x1):.1f}" y="{y0:.1f}" width="{abs(x1 - x0):.1f}" height="{y1 - y0:.1f}" '
                    f'fill="{_DRAWN[item.piece.role]}" stroke="#66707a" stroke-width=".5" fill-opacity=".85"/>'
                )
        if self.design.feet:
            low = min(float(p.blocks()[0].low[2]) for p in shown if p.piece.role == "foot")
            (_, y) = self.at(0.0, low)
            yield f'<path d="M40 {y:.1f} H{self.wide - 40:.1f}" stroke="#333" stroke-width="2"/>'
            yield f'<text x="44" y="{y + 15:.1f}" fill="#333">car</text>'

    def _pushes(self) -> Iterator[str]:
        """Yield what every layer and the rest of the box push, at their centres of mass."""
        design, statics = self.design, Statics(self.design)
        force = self.throw.force
        layers: dict[int, list[np.ndarray]] = defaultdict(list)
        for layer, _, _, place in design.layout.places:
            layers[layer].append(place + statics.module_centre)
        body, mass, moment = design.mass_properties, 0.0, np.zeros(3)
        pushes = []
        for layer, centres in layers.items():
            here = statics.module_mass * len(centres)
            mass, moment = mass + here, moment + here * np.mean(centres, axis=0)
            pushes.append((f"layer {layer}", here, np.mean(centres, axis=0)))
        rest = body.mass - mass
        pushes.append(("all else", rest, (body.mass * body.centroid - moment) / rest))
        most = max(m for _, m, _ in pushes) * float(np.linalg.norm(force))
        for name, here, centre in pushes:
            push = here * np.array([force[self.axis], force[2]])
            yield from self._arrow(float(centre[self.axis]), float(centre[2]), push, most, "#b3261e", name)

    def _holds(self) -> Iterator[str]:
        """Yield what the car does to the feet, those of either side of the drawing together."""
        if not self.design.feet:
            return
        statics = Statics(self.design)
        got, places = statics.on_feet(self.throw.force).forces, np.array([s.at for s in statics.feet])
        middle = float(places[:, self.axis].mean())
        most = float(np.abs(got[:, [self.axis, 2]]).sum(axis=0).max())
        for side in (places[:, self.axis] < middle, places[:, self.axis] >= middle):
            u, z = float(places[side, self.axis].mean()), float(places[side, 2].mean())
            for part in ((self.axis,), (2,)):
                push = got[side].sum(axis=0) * np.isin(range(3), part)
                name = f"{int(side.sum())} bolts"
                yield from self._arrow(u, z, push[[self.axis, 2]], most, "#1f5fa8", name if part == (2,) else "")

    def _arrow(self, u: float, z: float, push: np.ndarray, most: float, colour: str, name: str) -> Iterator[str]:
        size = float(np.linalg.norm(push))
        if size < 1e-3 * most:
            return
        x, y = self.at(u, z)
        way = np.array([self.sign * push[0], -push[1]]) / size
        length = 22 + (_ARROW - 22) * min(1.0, size / most)
        x1, y1 = x + way[0] * length, y + way[1] * length
        side = np.array([-way[1], way[0]])
        barbs = [np.array([x1, y1]) - 9 * way + 4 * s * side for s in (1, -1)]
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in ((x1, y1), *barbs))
        yield f'<path d="M{x:.1f} {y:.1f} L{x1:.1f} {y1:.1f}" stroke="{colour}" stroke-width="2.2"/>'
        yield f'<polygon points="{points}" fill="{colour}"/>'
        anchor = "start" if way[0] > 0.3 else "end" if way[0] < -0.3 else "middle"
        text = f"{name} {size / 1000:.1f} kN".strip()
        tx, ty = x1 + 5 * way[0], y1 + (14 if way[1] > 0.7 else -6 if way[1] < -0.7 else 4)
        yield (
            f'<text x="{tx:.1f}" y="{ty:.1f}" text-anchor="{anchor}" fill="{colour}" stroke="white" stroke-width="3" '
            f'paint-order="stroke">{escape(text)}</text>'
        )

    def _list(self) -> Iterator[str]:
        """Yield the steps of the way with the forces that their calculations begin with, the worst of each."""
        here = [c for c in self.done if c.case == self.case.name and c.throw == self.throw.text]
        x, y = self.wide, 58.0
        push = self.design.mass_properties.mass * float(np.linalg.norm(self.throw.force)) / 1000
        yield f'<text x="{x:.0f}" y="{y:.0f}" font-weight="bold">the whole box pushes {push:.1f} kN</text>'
        for member, symbols in _STEPS:
            of = [c for c in here if c.member == member]
            if not of:
                continue
            one, verdict, _ = governing(of)
            values = one.working.values
            said = {what: f"{what} {abs(values[s]) / 1000:.2f} kN" for s, what in symbols if s in values}
            y += 34
            yield f'<text x="{x:.0f}" y="{y:.0f}" fill="{_COLOUR[verdict]}">{escape(member)}: {verdict}, '
            yield f"{100 * one.use:.0f} % used</text>"
            told = ", ".join(said.values())
            yield f'<text x="{x + 12:.0f}" y="{y + 14:.0f}" font-size="11" fill="#444">{escape(told)}</text>'
