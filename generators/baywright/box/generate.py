"""A box from what was asked: every piece, joint and space, drilled, with its mass."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from baywright.box.build import Build
from baywright.box.carry import Taken, add_ledges, add_modules, add_tie_rods
from baywright.box.feet import Foot, add_feet, foot_places, foot_walls
from baywright.box.fittings import Fitted, add_fittings, place_fittings, wall_holes
from baywright.box.kit import Kit
from baywright.box.layout import Layout, lay_out
from baywright.box.leads import Space, lead_spaces
from baywright.box.lid import add_top
from baywright.box.lift import add_lift_lugs
from baywright.box.liner import Rect, add_liner
from baywright.box.shell import add_corners, add_floor_angles, add_panels, corner_span, screw_floor_angles, sides
from baywright.box.straps import Strap, add_straps
from baywright.job.catalogue import Catalogue
from baywright.job.models import BoxAsk
from baywright.piece.assembly import Assembly, drilled, total
from baywright.piece.extrusion import Extrusion
from baywright.piece.plate import Plate
from baywright.piece.solid import Block
from baywright.shape.mass import MassProperties
from baywright.shape.pose import Pose, turned

# Density of a half-and-half water and glycol coolant, kg/litre (from memory).
_COOLANT_KG_PER_LITRE = 1.07


@dataclass(frozen=True, eq=False, kw_only=True)
class BoxDesign:
    """A finished box, in its own frame: origin mid-floor on the underside, x to the service end, z up.

    Attributes:
        name: the box's name in the job.
        layout: its governing numbers.
        assembly: every piece and joint, drilled.
        spaces: room that must stay free (cables, fittings).
        feet: where it is bolted to the car.
        fitted: fittings and their places.
        straps: earth links between panels.
    """

    name: str
    layout: Layout
    assembly: Assembly
    spaces: tuple[Space, ...]
    feet: tuple[Foot, ...]
    fitted: tuple[Fitted, ...]
    straps: tuple[Strap, ...]

    @property
    def mass_properties(self) -> MassProperties:
        """Mass, centroid and inertia of the whole box in its own frame."""
        return self.assembly.mass_properties

    @property
    def pose(self) -> Pose:
        """Where it stands in the vehicle's frame."""
        ask = self.layout.ask
        return turned("z", ask.yaw, ask.at)

    @cached_property
    def size(self) -> Block:
        """The block that holds everything but the room for cables outside: feet, heads and fittings included."""
        return self.assembly.bounds()


def generate(name: str, ask: BoxAsk, catalogue: Catalogue) -> BoxDesign:
    """Return the design of a box.

    Raises:
        CannotBuild: with one sentence, if what was asked cannot be made.
    """
    kit = Kit(catalogue.style(ask.style), catalogue)
    layout = lay_out(name, ask, kit)
    build = Build(name, kit)
    fitted = place_fittings(layout, foot_places(layout) if ask.feet and "service" in foot_walls(layout) else [])
    add_panels(build, layout, wall_holes(layout, fitted))
    add_floor_angles(build, layout)
    add_corners(build, layout)
    add_modules(build, layout)
    carried = add_ledges(build, layout) if layout.carry == "ledges" else add_tie_rods(build, layout)
    feet, footed = add_feet(build, layout) if ask.feet else ([], Taken())
    add_top(build, layout)
    taken = carried.beside(footed)
    screw_floor_angles(build, layout, taken.wall, taken.fixed, taken.floor)
    spaces = add_fittings(build, layout, fitted)
    if ask.lift:
        # Modules make most of the mass: what is still to come moves the centroid by a millimetre or two.
        add_lift_lugs(build, layout, float(total(build.placed.values()).centroid[0]))
    add_liner(build, layout, fitted, _wall_metal(build, layout), _floor_metal(build))
    straps = add_straps(build)
    _add_allowances(build, layout)
    return BoxDesign(
        name=name,
        layout=layout,
        assembly=drilled(build.assembly()),
        spaces=(*spaces, *lead_spaces(layout)),
        feet=tuple(feet),
        fitted=tuple(fitted),
        straps=tuple(straps),
    )


def _wall_metal(build: Build, layout: Layout) -> dict[str, list[Rect]]:
    """Return by wall the rectangles (along it, up it; mm) of metal on its inner face, a cut-back's width all round."""
    cut = layout.kit.style.cut_back
    low, high = corner_span(layout)
    found: dict[str, list[Rect]] = {}
    for key, side in sides(layout).items():
        axis = int(np.argmax(np.abs(side.along)))
        for item in build.placed.values():
            if not isinstance(item.piece, Plate | Extrusion) or item.stage:
                continue
            for block in item.blocks():
                facing = (side.out * block.high if side.out.sum() > 0 else side.out * block.low).sum()
                on_wall = abs(facing - (side.inner - layout.bond)) < 1e-6
                if on_wall and block.high[2] > low and block.low[2] < high:
                    rect = (block.low[axis] - cut, block.low[2] - cut, block.high[axis] + cut, block.high[2] + cut)
                    found.setdefault(key, []).append(tuple(float(v) for v in rect))  # type: ignore[arg-type]
    return found


def _floor_metal(build: Build) -> list[tuple[float, float]]:
    """Return the intervals in x (mm) that bars bonded to the floor take."""
    cut = build.kit.style.cut_back
    bars = [item.blocks() for item in build.placed.values() if item.piece.role == "floor bar"]
    return [
        (float(min(b.low[0] for b in blocks)) - cut, float(max(b.high[0] for b in blocks)) + cut) for blocks in bars
    ]


def _add_allowances(build: Build, layout: Layout) -> None:
    """Add what has mass but no shape yet: coolant in the modules, wiring in the service space."""
    module, wiring, count = layout.module.module, layout.kit.style.wiring_allowance, layout.ask.count
    places = np.array([at for *_, at in layout.places])
    middle = places.mean(axis=0) + np.array([0, 0, layout.module.size[2] / 2])
    if layout.ask.coolant:
        litres = module.coolant_litres * count
        build.extra(
            "coolant", "coolant", f"coolant, {litres:.2f} litres", litres * _COOLANT_KG_PER_LITRE, middle, module.source
        )
    at = (layout.inside[0] / 2 - layout.service / 2, 0.0, float(middle[2]))
    build.extra(
        "wiring",
        "wiring allowance",
        "wiring, monitoring, busbars (allowance)",
        wiring.fixed + wiring.per_module * count,
        at,
        "the style's allowance",
    )
