"""What the frame's forces do to the metal: bars, bolts, bearing, feet, plates, welds, mounts."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from baywright.piece.extrusion import Extrusion
from baywright.rail.bars import Bar
from baywright.rail.design import Foot, Hanger, Joint, Ply, RailDesign, Saddle
from baywright.rail.frame import Model, all_cases, model
from baywright.rail.hold import (
    Demand,
    bolt_tension,
    cleat_stress,
    foot_stress,
    plate_stress,
    saddle_stress,
    saddle_tension,
    wall_pull,
    weld_use,
)
from baywright.rail.loads import Case, mount_axes, supports
from baywright.rail.shop import PITCH_HOLE
from baywright.strength.beam import Answer
from baywright.strength.boltgroup import (
    bearing_resistance,
    bolt_shear_resistance,
    bolt_tension_resistance,
    bolt_use,
    group_forces,
)
from baywright.strength.section import SectionProperties, equivalent_stress
from baywright.strength.statics import arm_matrix, share

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
        section, at = self.model.sections[bar.mark], self.model.stations[bar.mark]
        metal = self.design.kit.metal(bar.stock.material, "section", bar.stock.wall)
        best = Use(value=0.0, limit=metal.f_yield, case=self.cases[0].name, at=(0.0, 0.0, 0.0))
        for i, number in enumerate(self.model.members[bar.mark]):
            forces = np.abs(self.answer.members[:, number]) * self.factor
            signed = self.answer.members[:, number] * self.factor
            flipped = self.model.frame.members[number].start > self.model.frame.members[number].end
            for end in (0, 1):
                u = float(at[i + (1 - end if flipped else end)])
                left = _left(bar, section, u)
                direct = forces[:, end, 2] / (section.area * left.area)
                direct = direct + section.bending_stress(signed[:, end, 3], signed[:, end, 4]) / left.bending
                shear = forces[:, end, 0] / section.shear_x + forces[:, end, 1] / section.shear_y
                shear = (shear + forces[:, end, 5] / section.torsion_modulus) / left.area
                stress = equivalent_stress(direct, shear)
                case = int(stress.argmax())
                if stress[case] > best.value:
                    x, y, z = bar.point(u, 0.0, 0.0).tolist()
                    best = Use(value=float(stress[case]), limit=metal.f_yield, case=self.cases[case].name, at=(x, y, z))
        return best

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

    def _lug_forces(self, joint: Joint) -> tuple[Array, Array]:
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
        strength = row.ultimate_load[grade] / row.stress_area
        shear = bolt_shear_resistance(strength, row.stress_area, grade)
        use = bolt_use(across, pull, shear, bolt_tension_resistance(strength, row.stress_area))
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
        apart = _least_apart(points)
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
        rail = self._rail_joint(joint)
        ply = next(p for p in rail.plies if p.mark not in self.design.bars)
        metal = self.design.kit.metal(ply.material, "shop.angle_sections", ply.thickness)
        links = self.answer.links[:, self.model.joints[rail.name]] * self.factor
        force, centre = links[..., :3].sum(axis=1), rail.points.mean(axis=0)
        about = (links[..., 3:] + np.cross(rail.points - centre, links[..., :3])).sum(axis=1)
        height = float(centre[2])
        heel = np.array([joint.points[0, 0], rail.points[0, 1], height])
        lug = np.array([joint.points[0, 0], float(joint.points[:, 1].mean()), height])
        nearest = rail.points[np.abs(rail.points[:, 0] - heel[0]).argmin()]
        stations = np.array([heel, lug, [nearest[0], nearest[1], height]])
        moments = about + np.cross((centre - stations)[:, None], force[None])
        piece = self.design.assembly.by_mark[ply.mark].piece
        assert isinstance(piece, Extrusion)
        column = max(int((np.abs(rail.points[:, 0] - x) < 1.0).sum()) for x in rail.points[:, 0])
        taken = max(column * ply.hole, len(joint.points) * joint.plies[0].hole)
        stress = cleat_stress(force, moments, ply.thickness, piece.length, max(piece.length - taken, 1.0))
        case = int(stress.argmax())
        x, y, z = heel.tolist()
        return Use(value=float(stress[case]), limit=metal.f_yield, case=self.cases[case].name, at=(x, y, z))

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
        ply = Ply(
            mark=foot.mark,
            thickness=foot.wall,
            hole=foot.hole,
            bears=self.design.kit.diameter(size),
            material=foot.material,
            edge=self.design.kit.edge(size),
        )
        force = self.mounts[hanger.mount.name] * self.factor
        across = np.linalg.norm(force - (force @ foot.up)[:, None] * foot.up, axis=1)[:, None]
        return self._bearing(size, ply, across, hanger.mount.at[None])

    # --- hangers ----------------------------------------------------------------------------------------------------

    def foot(self, hanger: Hanger) -> Use:
        """Return the largest stress in a foot or saddle, against yield."""
        foot, demand = hanger.foot, self.demand(hanger)
        metal = self.design.kit.metal(foot.material, "shop.angle_sections", foot.wall)
        stress = saddle_stress(foot, demand) if isinstance(foot, Saddle) else foot_stress(foot, demand)
        return self._of(hanger, stress, metal.f_yield)

    def foot_bolts(self, hanger: Hanger) -> Use:
        """Return the tension of a foot's or saddle's bolts by hand, against what one takes, N."""
        kit, foot, demand = self.design.kit, hanger.foot, self.demand(hanger)
        row = kit.row(kit.shop.bolt)
        strength = row.ultimate_load[kit.shop.grade] / row.stress_area
        tension = saddle_tension(foot, demand) if isinstance(foot, Saddle) else bolt_tension(foot, demand)
        return self._of(hanger, tension, bolt_tension_resistance(strength, row.stress_area))

    def plate(self, hanger: Hanger) -> Use:
        """Return the largest stress in a hanger's plate, against yield."""
        shop, bar = self.design.ask.shop, self.design.bars[hanger.bar]
        metal = self.design.kit.metal(shop.plate_material, "shop.plate_material", hanger.thickness)
        run = hanger.foot.root - hanger.plate_root
        stress = plate_stress(
            thickness=hanger.thickness,
            width=hanger.width,
            hole=self.design.kit.hole(shop.bolt),
            demand=self.demand(hanger),
            arm=hanger.foot.arm,
            free=abs(float(run @ bar.w)),
            offset=abs(float(run @ bar.u)),
            heel=abs(float((hanger.mount.at - hanger.plate_root) @ bar.w)),
        )
        return self._of(hanger, stress, metal.f_yield)

    def weld(self, hanger: Hanger) -> Use:
        """Return how much of a foot's gusset welds is used, 1 = all."""
        assert isinstance(hanger.foot, Foot)
        shop = self.design.ask.shop
        metal = self.design.kit.metal(shop.plate_material, "shop.plate_material", hanger.foot.gussets)
        return self._of(hanger, weld_use(hanger.foot, self.demand(hanger), metal.f_ultimate), 1.0)

    def _of(self, hanger: Hanger, values: Array, limit: float) -> Use:
        x, y, z = hanger.mount.at.tolist()
        case = int(values.argmax())
        return Use(value=float(values[case]), limit=limit, case=self.cases[case].name, at=(x, y, z))


@dataclass(frozen=True, slots=True)
class _Left:
    """What holes leave of a section's area and of its moments, as shares."""

    area: float
    bending: float


def _left(bar: Bar, section: SectionProperties, u: float) -> _Left:
    """Return what the holes at one place along a bar leave of its section.

    Every hole is taken out of the walls that it goes through, the shift of the neutral axis left out: within a few
    percent for holes in pairs.
    """
    t, b, h = bar.stock.wall, bar.half_v, bar.half_w
    area = about_v = about_w = 0.0
    for way, place, across, hole in bar.bolts:
        if abs(place - u) > hole / 2:
            continue
        walls = 2 if bar.stock.shape == "tube" else 1
        thick = 2 * b if bar.stock.shape == "bar" else t
        off = 0.0 if bar.stock.shape == "bar" else (b if way == "v" else h) - t / 2
        area += walls * thick * hole
        along = walls * thick * hole * off**2
        over = walls * (thick * hole**3 / 12 + thick * hole * across**2)
        about_w, about_v = (about_w + along, about_v + over) if way == "v" else (about_w + over, about_v + along)
    # ∫v² is the moment about w, ∫w² about v; which of them is the section's x follows from how it stands.
    x_is_v = abs(float(bar.pose().turn[:, 0] @ bar.v)) > 0.5
    over_v, over_w = (section.iy, section.ix) if x_is_v else (section.ix, section.iy)
    return _Left(max(1 - area / section.area, 0.05), max(min(1 - about_w / over_v, 1 - about_v / over_w), 0.05))


def _least_apart(points: Array) -> float | None:
    if len(points) < 2:
        return None
    apart = np.linalg.norm(points[:, None] - points[None], axis=2)
    return float(apart[np.triu_indices(len(points), 1)].min())


@lru_cache(maxsize=4)  # choosing a section, the review and the report page ask for the same one
def solve(design: RailDesign) -> Solved:
    """Return a design's frame under all its load cases."""
    made, listed = model(design), all_cases(design)
    return Solved(design, made, listed, made.answer(listed))
