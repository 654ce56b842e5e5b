"""The rails as a frame: a stiff motor unit, bars, hangers and feet as beams, bolts and mounts as springs.

Assumptions, all told in the review: the motor unit is stiff; all mass, the rails' own too, sits in it; bolts are
springs of one stiffness and do not slip; a bolted part tips about its edge; mounts hold by forces, not by moments.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.mechanics.beam import Answer, Frame, Link, Member, condensed
from baywright.mechanics.section import SectionProperties, section_properties
from baywright.mechanics.statics import natural_frequencies
from baywright.piece.extrusion import Stock
from baywright.rail.bars import Bar
from baywright.rail.design import UNIT, Foot, Hanger, Joint, RailDesign, Saddle
from baywright.rail.hold import strip
from baywright.rail.loads import Case, cases, mount_axes, stiffness_of
from baywright.shape.mass import MassProperties

Array = NDArray[np.float64]

# Bolts nearer to each other along a bar than this share a node, mm; each still acts at its own place.
_NEAR = 8.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Model:
    """A set of rails as a frame.

    Attributes:
        frame: the frame; node 0 is the motor unit at its centre of mass.
        body: the unit's mass properties.
        joints: for each joint of the design, the numbers of its bolts' links.
        seats: for each hanger, the node of its mount's seat.
        mounts: for each hanger, the number of its mount's link.
        members: for each bar, the numbers of its members.
        stations: for each bar, the places of its nodes along it, mm.
        sections: each bar's section properties.
    """

    frame: Frame
    body: MassProperties
    joints: dict[str, list[int]]
    seats: dict[str, int]
    mounts: dict[str, int]
    members: dict[str, list[int]]
    stations: dict[str, Array]
    sections: dict[str, SectionProperties]

    def answer(self, listed: list[Case]) -> Answer:
        """Return what the frame does under load cases."""
        loads: Array = np.zeros((len(listed), len(self.frame.nodes), 6))
        for i, case in enumerate(listed):
            loads[i, 0, :3], loads[i, 0, 3:] = case.force, case.moment
        return self.frame.answer(loads)

    def frequencies(self) -> Array:
        """Return the natural frequencies (6,) Hz of the unit on rails and mounts."""
        return natural_frequencies(condensed(self.frame, 0), self.body, self.body.centroid)[0]


def model(design: RailDesign) -> Model:
    """Return a design as a frame."""
    return _Maker(design).made()


def all_cases(design: RailDesign) -> list[Case]:
    """Return a design's load cases, standing still first, load factor not in."""
    return cases(design.given, design.pose, design.unit.mass)


class _Maker:
    """Collects nodes, members and links."""

    def __init__(self, design: RailDesign) -> None:
        self.design = design
        self.shop = design.ask.shop
        self.nodes: list[Array] = [design.unit.centroid]
        self.members: list[Member] = []
        self.links: list[Link] = []
        self.at_bar: dict[str, list[tuple[float, int]]] = {}
        self.of_bar: dict[str, list[int]] = {}
        self.of_piece: dict[str, int] = {}

    def made(self) -> Model:
        """Return the model."""
        design = self.design
        sections = {mark: section_properties(bar.stock) for mark, bar in design.bars.items()}
        for mark, bar in design.bars.items():
            self._bar(bar, sections[mark])
        seats, mounts = {}, {}
        for hanger in design.hangers:
            seats[hanger.mount.name] = self._hanger(hanger)
        joints = {joint.name: self._joint(joint) for joint in design.joints if joint.first != joint.second}
        for hanger in design.hangers:
            mounts[hanger.mount.name] = self._mount(hanger, seats[hanger.mount.name])
        return Model(
            frame=Frame(np.array(self.nodes), tuple(self.members), tuple(self.links)),
            body=design.unit,
            joints=joints,
            seats=seats,
            mounts=mounts,
            members=self.of_bar,
            stations={mark: np.array([u for u, _ in at]) for mark, at in self.at_bar.items()},
            sections=sections,
        )

    def _node(self, place: Array) -> int:
        self.nodes.append(place)
        return len(self.nodes) - 1

    def _bar(self, bar: Bar, section: SectionProperties) -> None:
        """Add a bar's nodes, one at every hole along it, on the line of its shear centre."""
        pose = bar.pose()
        line = bar.own(pose(np.array([*section.shear_centre, 0.0])))
        places = _apart([u for _, u, _, _ in bar.bolts])
        self.at_bar[bar.mark] = [(u, self._node(bar.point(u, float(line[1]), float(line[2])))) for u in places]
        metal = self.design.kit.metal(bar.stock.material, "section", bar.stock.wall)
        self.of_bar[bar.mark] = []
        x_axis = pose.turn[:, 0] if pose.turn[:, 2] @ bar.u > 0 else None
        for (_, start), (_, end) in zip(self.at_bar[bar.mark], self.at_bar[bar.mark][1:], strict=False):
            # The member runs the way that the section's own z does, so that x and y keep their hand.
            first, last = (start, end) if x_axis is not None else (end, start)
            self.of_bar[bar.mark].append(len(self.members))
            self.members.append(
                Member(
                    start=first, end=last, section=section, x_axis=pose.turn[:, 0], e=metal.e, g=metal.g, name=bar.mark
                )
            )

    def _hanger(self, hanger: Hanger) -> int:
        """Add a hanger's plate and foot; return the node of the mount's seat."""
        foot = hanger.foot
        if isinstance(foot, Saddle):
            return self._saddle(foot, hanger.mount.at)
        root = self._node(foot.root)
        self.of_piece[foot.mark] = root
        if hanger.plate:
            top = self._node(hanger.plate_root)
            self.of_piece[hanger.plate] = top
            out = foot.out
            run = foot.root - hanger.plate_root
            across = np.cross(out, run)
            self._strip(top, root, hanger.width, hanger.thickness, across, self.shop.plate_material, hanger.plate)
        heel = self._node(foot.root - foot.up * foot.gauge)
        seat = self._node(hanger.mount.at)
        self._foot(root, heel, foot, foot.gauge)
        self._foot(heel, seat, foot, foot.arm)
        return seat

    def _saddle(self, saddle: Saddle, at: Array) -> int:
        """Add a saddle as a flat bar from its bolts to the mount; return the node of the mount's seat."""
        root, seat = self._node(saddle.root), self._node(at)
        self.of_piece[saddle.mark] = root
        across = np.cross(saddle.up, at - saddle.root)
        self._strip(root, seat, saddle.width, saddle.wall, across, saddle.material, saddle.mark)
        return seat

    def _strip(self, start: int, end: int, width: float, thick: float, across: Array, material: str, name: str) -> None:
        stock = Stock(
            name=name,
            shape="bar",
            width=width,
            height=thick,
            wall=thick,
            material=material,
            density=0.0,
            stock_length=0.0,
        )
        metal = self.design.kit.metal(material, "shop.plate_material", thick)
        self.members.append(
            Member(
                start=start,
                end=end,
                section=section_properties(stock),
                x_axis=across / np.linalg.norm(across),
                e=metal.e,
                g=metal.g,
                name=name,
            )
        )

    def _foot(self, start: int, end: int, foot: Foot, length: float) -> None:
        """Add one leg of a foot, its gussets counted over the length that they cover."""
        metal = self.design.kit.metal(foot.stock.material, "shop.angle_sections", foot.stock.wall)
        self.members.append(
            Member(
                start=start,
                end=end,
                section=strip(foot, length),
                x_axis=foot.along,
                e=metal.e,
                g=metal.g,
                name=foot.mark,
            )
        )

    def _joint(self, joint: Joint) -> list[int]:
        """Add a joint's bolts as springs; a row of bolts also as a hinge that is held by the parts' edges."""
        k = self.shop.bolt_stiffness_n_per_mm
        spread = np.linalg.svd(joint.points - joint.points.mean(axis=0), compute_uv=False)
        row = len(joint.points) < 3 or spread[1] < 1.0
        turning = np.full(3, k * joint.lever**2 if row else 0.0)
        found = []
        for point in joint.points:
            found.append(len(self.links))
            self.links.append(
                Link(
                    first=self._end(joint.first, point),
                    second=self._end(joint.second, point),
                    at=point,
                    axes=np.eye(3),
                    stiffness=np.full(3, k),
                    turning=turning,
                    name=joint.name,
                )
            )
        return found

    def _end(self, mark: str, point: Array) -> int:
        if mark == UNIT:
            return 0
        if mark in self.of_piece:
            return self.of_piece[mark]
        u = float(self.design.bars[mark].own(point)[0])
        place, node = min(self.at_bar[mark], key=lambda at: abs(at[0] - u))
        if abs(place - u) > _NEAR + 1e-6:
            raise ValueError(f"{mark} has no node at {u:.3f}")
        return node

    def _mount(self, hanger: Hanger, seat: int) -> int:
        mount = hanger.mount
        self.links.append(
            Link(
                first=seat,
                second=None,
                at=mount.at,
                axes=mount_axes(mount),
                stiffness=stiffness_of(mount, self.shop.rigid_mount_n_per_mm),
                turning=np.zeros(3),
                name=mount.name,
            )
        )
        return len(self.links) - 1


def _apart(places: list[float]) -> list[float]:
    """Return places along a bar, sorted, those within `_NEAR` of the first of a group left to it."""
    kept: list[float] = []
    for u in sorted(places):
        if not kept or u - kept[-1] > _NEAR:
            kept.append(u)
    return kept
