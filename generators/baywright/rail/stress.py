"""What the frame's forces do to the metal: bars, bolts, bearing, feet, plates, welds, mounts."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from baywright.mechanics.beam import Answer
from baywright.mechanics.boltgroup import (
    bearing_resistance,
    bolt_shear_resistance,
    bolt_tension_resistance,
    bolt_use,
    group_forces,
)
from baywright.mechanics.section import equivalent_stress
from baywright.mechanics.statics import arm_matrix, share
from baywright.piece.extrusion import Extrusion
from baywright.rail.bars import Bar
from baywright.rail.design import Foot, Hanger, Joint, Ply, RailDesign, Saddle
from baywright.rail.frame import Model, all_cases, model
from baywright.rail.hold import (
    Demand,
    bolt_tension,
    cleat_stress,
    foot_stress,
    plate_lengths,
    plate_stress,
    saddle_stress,
    saddle_tension,
    wall_pull,
    weld_use,
)
from baywright.rail.loads import Case, mount_axes, supports
from baywright.rail.net import Left, left_of
from baywright.rail.shop import PITCH_HOLE

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """How much of something is used in its worst case, load factor in.

    Attributes:
        value: stress in MPa, force in N, or a share.
        limit: what is allowed, in the same unit.
        case: the load case.
        at: (x, y, z) mm in the rail frame.
        note: what a person should know of it.
    """

    value: float
    limit: float
    case: str
    at: tuple[float, float, float]
    note: str = ""

    @property
    def share(self) -> float:
        """Value over limit."""
        return self.value / self.limit


@dataclass(frozen=True, eq=False)
class Solved:
    """A design's frame under all its load cases."""

    design: RailDesign
    model: Model
    cases: list[Case]
    answer: Answer

    @property
    def factor(self) -> float:
        """The load factor."""
        return self.design.ask.shop.load_factor

    @cached_property
    def mounts(self) -> dict[str, Array]:
        """Each mount's force (cases, 3) N on its foot, load factor not in.

        Rounding in a frame of stiff and soft parts leaves up to a few parts in 1e9 unbalanced; that is shared among the
        mounts as a stiff unit would share it.
        """
        raw = {name: self.answer.links[:, link, :3] for name, link in self.model.mounts.items()}
        left = self._unbalanced(raw)
        held = supports([h.mount for h in self.design.hangers], self.design.ask.shop.rigid_mount_n_per_mm)
        rest = share(held, left[:, :3], left[:, 3:], self.model.body.centroid).forces
        return {h.mount.name: raw[h.mount.name] + rest[:, i] for i, h in enumerate(self.design.hangers)}

    @cached_property
    def rounding(self) -> float:
        """What rounding left unbalanced before, as a share of the largest mount force."""
        return self._share({name: self.answer.links[:, link, :3] for name, link in self.model.mounts.items()})

    @property
    def residual(self) -> float:
        """How far the mounts' forces are from balancing the loads, as a share of the largest mount force."""
        return self._share(self.mounts)

    def _unbalanced(self, mounts: dict[str, Array]) -> Array:
        """Return force and moment (cases, 6) about the unit's centroid that loads and mounts together leave."""
        about = self.model.body.centroid
        total = np.array([np.concatenate([c.force, c.moment]) for c in self.cases])
        for hanger in self.design.hangers:
            force = mounts[hanger.mount.name]
            total = total + np.hstack([force, np.cross(hanger.mount.at - about, force)])
        return total

    def _share(self, mounts: dict[str, Array]) -> float:
        reach = max(float(np.linalg.norm(h.mount.at - self.model.body.centroid)) for h in self.design.hangers)
        most = max(float(np.abs(force).max()) for force in mounts.values())
        return float(np.abs(self._unbalanced(mounts) / np.array([1.0] * 3 + [reach] * 3)).max() / max(most, 1e-30))

    @cached_property
    def gives(self) -> dict[str, Array]:
        """How far each mount gives (cases, 3) mm: along its bolt, and twice across, load factor not in."""
        out = {}
        for hanger in self.design.hangers:
            seat = self.model.seats[hanger.mount.name]
            out[hanger.mount.name] = self.answer.motion[:, seat, :3] @ mount_axes(hanger.mount)
        return out

    def demand(self, hanger: Hanger) -> Demand:
        """Return the sizes of a mount's forces on its foot, load factor in."""
        foot = hanger.foot
        return Demand.of(self.mounts[hanger.mount.name] * self.factor, foot.up, foot.along, foot.out)

    # --- bars -------------------------------------------------------------------------------------------------------

    def bar(self, bar: Bar) -> Use:
        """Return the largest equivalent stress of a bar, its holes taken out, against yield."""
        section = self.model.sections[bar.mark]
        metal = self.design.kit.metal(bar.stock.material, "section", bar.stock.wall)
        best = Use(value=0.0, limit=metal.f_yield, case=self.cases[0].name, at=(0.0, 0.0, 0.0))
        for u, signed, left in self.bar_ends(bar):
            forces = np.abs(signed)
            direct = forces[:, 2] / (section.area * left.area)
            direct = direct + section.bending_stress(signed[:, 3], signed[:, 4]) / left.bending
            shear = forces[:, 0] / section.shear_x + forces[:, 1] / section.shear_y
            shear = (shear + forces[:, 5] / section.torsion_modulus) / left.area
            stress = equivalent_stress(direct, shear)
            case = int(stress.argmax())
            if stress[case] > best.value:
                x, y, z = bar.point(u, 0.0, 0.0).tolist()
                best = Use(value=float(stress[case]), limit=metal.f_yield, case=self.cases[case].name, at=(x, y, z))
        return best

    def bar_ends(self, bar: Bar) -> Iterator[tuple[float, Array, Left]]:
        """Yield both ends of every piece of a bar between joints: the place u along it, the forces, what holes leave.

        Forces (cases, 6) N, N·mm with the load factor in: V_x, V_y, N, M_x, M_y, T in the section's frame.
        """
        section, at = self.model.sections[bar.mark], self.model.stations[bar.mark]
        for i, number in enumerate(self.model.members[bar.mark]):
            signed = self.answer.members[:, number] * self.factor
            flipped = self.model.frame.members[number].start > self.model.frame.members[number].end
            for end in (0, 1):
                u = float(at[i + (1 - end if flipped else end)])
                yield u, signed[:, end], left_of(bar, section, u)

    def sag(self) -> Use:
        """Return how far rails and hangers give at rest between motor and mounts, against the shop's limit, mm."""
        about = self.model.frame.nodes[0]
        worst, at = 0.0, (0.0, 0.0, 0.0)
        for hanger in self.design.hangers:
            seat = self.model.seats[hanger.mount.name]
            stiff = self.answer.motion[0, 0] @ arm_matrix(hanger.mount.at - about).T
            off = float(np.linalg.norm(self.answer.motion[0, seat, :3] - stiff))
            if off > worst:
                x, y, z = hanger.mount.at.tolist()
                worst, at = off, (x, y, z)
        return Use(value=worst, limit=self.design.ask.shop.deflection_most, case=self.cases[0].name, at=at)

    # --- bolts ------------------------------------------------------------------------------------------------------

    def bolt_forces(self, joint: Joint) -> tuple[Array, Array]:
        """Return the shear and the tension (cases, bolts) N of a joint's bolts, load factor in.

        A lug's bolts take what its cleat's bolts in the rail take. Where a part could tip about a row of bolts, the
        moment about the row counts as tension over the part's nearer edge.
        """
        if joint.first == joint.second:
            return self._lug_forces(joint)
        links = self.answer.links[:, self.model.joints[joint.name]] * self.factor
        force, moment = links[..., :3], links[..., 3:]
        pull = np.abs(force @ joint.axis)
        across = np.linalg.norm(force - (force @ joint.axis)[..., None] * joint.axis, axis=-1)
        tip = moment - (moment @ joint.axis)[..., None] * joint.axis
        return across, pull + np.linalg.norm(tip, axis=-1) / max(joint.lever, 1.0)

    def lug_load(self, joint: Joint) -> tuple[Array, Array, Array]:
        """Return what a cleat's bolts in its lug take together: force and moment (cases, 3) N, N·mm, and the tipping.

        The tipping moment (cases,) about a row of bolts is not in the moment: contact holds it, not the group.
        """
        partner = self._rail_joint(joint)
        links = self.answer.links[:, self.model.joints[partner.name]] * self.factor
        centre = joint.points.mean(axis=0)
        force = links[..., :3].sum(axis=1)
        moment = (links[..., 3:] + np.cross(partner.points - centre, links[..., :3])).sum(axis=1)
        spread = np.linalg.svd(joint.points - centre)
        tip = np.zeros(len(self.cases))
        if len(joint.points) < 3 or spread.S[1] < 1.0:
            row = spread.Vh[0]
            tip = np.abs(moment @ row)
            moment = moment - (moment @ row)[:, None] * row
        return force, moment, tip

    def _lug_forces(self, joint: Joint) -> tuple[Array, Array]:
        force, moment, tip = self.lug_load(joint)
        centre = joint.points.mean(axis=0)
        found = group_forces(joint.points, joint.axis, force, moment, centre)
        return found.across, np.abs(found.tension) + (tip / max(joint.lever, 1.0) / len(joint.points))[:, None]

    def _rail_joint(self, joint: Joint) -> Joint:
        """Return the joint to the rail of the cleat that a lug's joint is of."""
        name = joint.name.removesuffix("lug") + "rail"
        return next(j for j in self.design.joints if j.name == name)

    def bolts(self, joint: Joint) -> Use:
        """Return how much of a joint's most loaded bolt is used, 1 = all."""
        return self._bolt_use(joint.size, *self.bolt_forces(joint), joint.points)

    def _bolt_use(self, size: str, across: Array, pull: Array, points: Array) -> Use:
        kit = self.design.kit
        row, grade = kit.row(size), kit.shop.grade
        strength, area = row.ultimate_load[grade] / row.stress_area, row.stress_area
        shear, tension = bolt_shear_resistance(strength, area, grade), bolt_tension_resistance(strength, area)
        use = bolt_use(across, pull, shear, tension)
        case, bolt = np.unravel_index(int(use.argmax()), use.shape)
        x, y, z = points[bolt].tolist()
        note = f"{across[case, bolt]:.0f} N across, {pull[case, bolt]:.0f} N of tension"
        return Use(value=float(use[case, bolt]), limit=1.0, case=self.cases[int(case)].name, at=(x, y, z), note=note)

    def bearing(self, joint: Joint, ply: Ply) -> Use:
        """Return the largest force of a bolt on one ply's hole, against what the hole takes, N."""
        return self._bearing(joint.size, ply, self.bolt_forces(joint)[0], joint.points)

    def _bearing(self, size: str, ply: Ply, across: Array, points: Array) -> Use:
        kit = self.design.kit
        metal, row = kit.metal(ply.material, "shop.plate_material", ply.thickness), kit.row(size)
        edge = ply.edge if ply.edge is not None else 3.0 * ply.hole  # a corner is no edge
        apart = least_apart(points)
        limit = bearing_resistance(
            diameter=ply.bears,
            hole=ply.hole,
            thickness=ply.thickness,
            strength=metal.f_ultimate,
            bolt_strength=row.ultimate_load[kit.shop.grade] / row.stress_area,
            end=edge,
            side=edge,
            pitch=None if apart is None else max(apart, PITCH_HOLE * ply.hole),
        )
        case, bolt = np.unravel_index(int(across.argmax()), across.shape)
        x, y, z = points[bolt].tolist()
        return Use(value=float(across[case, bolt]), limit=limit, case=self.cases[int(case)].name, at=(x, y, z))

    def wall(self, joint: Joint, ply: Ply) -> Use:
        """Return the largest pull of a bolt on the wall of a hollow bar, where its washer bears, N."""
        metal = self.design.kit.metal(ply.material, "section", ply.thickness)
        pull = self.bolt_forces(joint)[1]
        case, bolt = np.unravel_index(int(pull.argmax()), pull.shape)
        x, y, z = joint.points[bolt].tolist()
        bar = self.design.bars[ply.mark]
        wide = bar.half_w if abs(float(joint.axis @ bar.v)) > 0.5 else bar.half_v
        limit = wall_pull(ply.thickness, metal.f_yield, self.design.kit.washer(joint.size), 2 * (wide - ply.thickness))
        return Use(value=float(pull[case, bolt]), limit=limit, case=self.cases[int(case)].name, at=(x, y, z))

    def cleat(self, joint: Joint) -> Use:
        """Return the largest stress of the cleat between a lug's joint and its rail, against yield."""
        ply, force, moments, net = self.cleat_load(joint)
        metal = self.design.kit.metal(ply.material, "shop.angle_sections", ply.thickness)
        stress = cleat_stress(force, moments, ply.thickness, self.cleat_length(ply), net)
        case = int(stress.argmax())
        x, y, z = joint.points[0, 0], self._rail_joint(joint).points[0, 1], self._rail_joint(joint).points[:, 2].mean()
        return Use(
            value=float(stress[case]),
            limit=metal.f_yield,
            case=self.cases[case].name,
            at=(float(x), float(y), float(z)),
        )

    def cleat_length(self, ply: Ply) -> float:
        """Return the length of the angle that a ply is of, mm."""
        piece = self.design.assembly.by_mark[ply.mark].piece
        assert isinstance(piece, Extrusion)
        return piece.length

    def cleat_load(self, joint: Joint) -> tuple[Ply, Array, Array, float]:
        """Return what the cleat of a lug's joint passes on: its ply, force, moments, and its length less holes, mm.

        Force (cases, 3) N; moments (3, cases, 3) N·mm about its heel, the lug's bolt line and the rail's.
        """
        rail = self._rail_joint(joint)
        ply = next(p for p in rail.plies if p.mark not in self.design.bars)
        links = self.answer.links[:, self.model.joints[rail.name]] * self.factor
        force, centre = links[..., :3].sum(axis=1), rail.points.mean(axis=0)
        about = (links[..., 3:] + np.cross(rail.points - centre, links[..., :3])).sum(axis=1)
        heel = _heel(joint, rail)
        lug = np.array([heel[0], float(joint.points[:, 1].mean()), heel[2]])
        nearest = rail.points[np.abs(rail.points[:, 0] - heel[0]).argmin()]
        stations = np.array([heel, lug, [nearest[0], nearest[1], heel[2]]])
        moments = about + np.cross((centre - stations)[:, None], force[None])
        column = max(int((np.abs(rail.points[:, 0] - x) < 1.0).sum()) for x in rail.points[:, 0])
        taken = max(column * ply.hole, len(joint.points) * joint.plies[0].hole)
        return ply, force, moments, max(self.cleat_length(ply) - taken, 1.0)

    def mount_bolt(self, hanger: Hanger) -> Use:
        """Return how much of a mount's own bolt or stud is used, taken as of the shop's class."""
        force = self.mounts[hanger.mount.name] * self.factor
        along = force @ hanger.mount.faces
        across = np.linalg.norm(force - along[:, None] * hanger.mount.faces, axis=1)
        # The car pulls the foot down on it: a force against its way is tension.
        pull = np.maximum(-along, 0.0)
        return self._bolt_use(hanger.mount.ask.bolt, across[:, None], pull[:, None], hanger.mount.at[None])

    def mount_bearing(self, hanger: Hanger) -> Use:
        """Return the largest force of a mount's bolt across its hole in the foot, against what the hole takes, N."""
        foot, size = hanger.foot, hanger.mount.ask.bolt
        force = self.mounts[hanger.mount.name] * self.factor
        across = np.linalg.norm(force - (force @ foot.up)[:, None] * foot.up, axis=1)[:, None]
        return self._bearing(size, self.mount_ply(hanger), across, hanger.mount.at[None])

    def mount_ply(self, hanger: Hanger) -> Ply:
        """Return the metal of a foot round the hole of its mount's bolt."""
        foot, size, kit = hanger.foot, hanger.mount.ask.bolt, self.design.kit
        return Ply(
            mark=foot.mark,
            thickness=foot.wall,
            hole=foot.hole,
            bears=kit.diameter(size),
            material=foot.material,
            edge=kit.edge(size),
        )

    # --- hangers ----------------------------------------------------------------------------------------------------

    def foot(self, hanger: Hanger) -> Use:
        """Return the largest stress in a foot or saddle, against yield."""
        foot, demand = hanger.foot, self.demand(hanger)
        metal = self.design.kit.metal(foot.material, "shop.angle_sections", foot.wall)
        stress = saddle_stress(foot, demand) if isinstance(foot, Saddle) else foot_stress(foot, demand)
        return self._of(hanger.mount.at, stress, metal.f_yield)

    def foot_bolts(self, hanger: Hanger) -> Use:
        """Return the tension of a foot's or saddle's bolts by hand, against what one takes, N."""
        kit, foot, demand = self.design.kit, hanger.foot, self.demand(hanger)
        row = kit.row(kit.shop.bolt)
        strength = row.ultimate_load[kit.shop.grade] / row.stress_area
        tension = saddle_tension(foot, demand) if isinstance(foot, Saddle) else bolt_tension(foot, demand)
        return self._of(hanger.mount.at, tension, bolt_tension_resistance(strength, row.stress_area))

    def plate(self, hanger: Hanger) -> Use:
        """Return the largest stress in a hanger's plate, against yield."""
        shop, bar = self.design.ask.shop, self.design.bars[hanger.bar]
        metal = self.design.kit.metal(shop.plate_material, "shop.plate_material", hanger.thickness)
        stress = plate_stress(
            thickness=hanger.thickness,
            width=hanger.width,
            hole=self.design.kit.hole(shop.bolt),
            demand=self.demand(hanger),
            arm=hanger.foot.arm,
            **plate_lengths(hanger, bar),
        )
        return self._of(hanger.mount.at, stress, metal.f_yield)

    def weld(self, hanger: Hanger) -> Use:
        """Return how much of a foot's gusset welds is used, 1 = all."""
        assert isinstance(hanger.foot, Foot)
        shop = self.design.ask.shop
        metal = self.design.kit.metal(shop.plate_material, "shop.plate_material", hanger.foot.gussets)
        return self._of(hanger.mount.at, weld_use(hanger.foot, self.demand(hanger), metal.f_ultimate), 1.0)

    def _of(self, at: Array, values: Array, limit: float) -> Use:
        x, y, z = at.tolist()
        case = int(values.argmax())
        return Use(value=float(values[case]), limit=limit, case=self.cases[case].name, at=(x, y, z))


def _heel(joint: Joint, rail: Joint) -> Array:
    """Return the middle (3,) of a cleat's heel: where the planes of its lug's joint and its rail's meet."""
    return np.array([joint.points[0, 0], rail.points[0, 1], float(rail.points[:, 2].mean())])


def least_apart(points: Array) -> float | None:
    """Return how far the nearest two of some bolts (n, 3) are from each other, mm; None for one alone."""
    if len(points) < 2:
        return None
    apart = np.linalg.norm(points[:, None] - points[None], axis=2)
    return float(apart[np.triu_indices(len(points), 1)].min())


@lru_cache(maxsize=4)  # choosing a section, the review and the report page ask for the same one
def solve(design: RailDesign) -> Solved:
    """Return a design's frame under all its load cases."""
    made, listed = model(design), all_cases(design)
    return Solved(design, made, listed, made.answer(listed))
