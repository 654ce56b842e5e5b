"""Hangers: from a bar to a mount that lies beside it, below or above it.

A hanger is a foot, a length of angle with the mount's bolt through one leg; and, where the mount is not level with the
bar, a plate between foot and bar. Everything a hanger could be is listed, what cannot be is struck out with its reason,
and of the rest the lightest that holds and meets nothing is taken.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from baywright.piece.extrusion import Stock
from baywright.rail.bars import Bar, Seat
from baywright.rail.build import Build, Lot
from baywright.rail.design import Foot, Hanger, Joint
from baywright.rail.hold import INSET, WELD_LEG, Demand, foot_stress, plate_stress
from baywright.rail.lay import ROUND, Option, lay_hanger
from baywright.rail.place import Mount
from baywright.rail.reasons import Reasons, Step
from baywright.rail.shop import PITCH_HOLE, Kit
from baywright.shape.pose import cross

Array = NDArray[np.float64]

# A foot that stands out more than this many times its thickness gets gussets (common practice, no source).
GUSSET_OUT = 4.0
_GUSSET = 6.0  # mm
# How far a foot's two bolts are moved apart, each its own way, where something is in the way, mm.
_SPREADS = [(0, 0), (20, 0), (0, 20), (20, 20), (40, 0), (0, 40), (40, 40), (60, 0), (0, 60)]
# How far apart both stand where they have to be on one side of the mount, more than their least, mm.
_ONE_SIDE = [0, 20, 40]
# What each millimetre that a foot's bolts stand off the mount counts for when options are compared, kg.
_OFF_COST = 0.01
# How far a plate's bolts are moved along the bar, mm.
_SHIFTS = [s * d for d in range(0, 101, 10) for s in ((1,) if d == 0 else (1, -1))]
# A hanger is sized for this share of what its metal takes; the frame afterwards finds the true forces.
_SIZED = 0.8
_CLOSE = 2.0  # mm between a nut and the bar beside it
_TRIES = 16  # options that are tried for space before a mount is given up


def hang(build: Build, bar: Bar, mount: Mount, forces: Array, reasons: Reasons) -> tuple[Hanger, list[Joint]] | None:
    """Add the lightest hanger that holds, from a bar to a mount; return it and its joints, or None with the reasons.

    Args:
        build: where it goes.
        bar: the rail or crossbar.
        mount: the mount.
        forces: (cases, 3) N that the mount puts on its foot, load factor in.
        reasons: takes what stood in the way.
    """
    site = Site(build=build, bar=bar, mount=mount, forces=forces, reasons=reasons)
    options = sorted(site.options(), key=lambda o: (o.mass + _OFF_COST * abs(sum(o.bolts)), o.side, o.shift, o.columns))
    tried, dead = 0, set[int]()
    for option in options:
        if id(option.foot) in dead:
            continue
        lot = Lot()
        hanger, joints = lay_hanger(build, lot, bar, mount, option)
        clash = build.clash(lot)
        if clash is None:
            build.add(lot)
            bar.take(option.holes())
            return hanger, joints
        reasons.say(Step.SPACE, clash.text)
        if not any(mark.startswith("plate") for mark in clash.marks):
            dead.add(id(option.foot))  # moving the plate would not help
        tried += 1
        if tried >= _TRIES:
            break
    return None


@dataclass(frozen=True, eq=False, kw_only=True)
class _Shape:
    """What is chosen of a hanger before its sizes: side of the bar, angle, plate, and which way the foot turns."""

    side: int
    seat: Seat
    stock: Stock
    swapped: bool
    plate: float
    under: bool

    @property
    def face(self) -> float:
        """Where the foot's bolted leg lies across the bar, mm."""
        return self.seat.seat if self.under else self.seat.seat + self.side * self.plate

    @property
    def out(self) -> int:
        """The sign of the way from that face to the mount."""
        return -self.side if self.under else self.side

    @property
    def legs(self) -> tuple[float, float]:
        """Lengths of the leg that reaches to the mount and of the leg that is bolted on, mm."""
        s = self.stock
        return (s.height, s.width) if self.swapped else (s.width, s.height)


@dataclass(frozen=True, eq=False, kw_only=True)
class Site:
    """A bar and a mount, and the ways to hang the one on the other."""

    build: Build
    bar: Bar
    mount: Mount
    forces: Array
    reasons: Reasons = field(default_factory=Reasons)

    @property
    def kit(self) -> Kit:
        """The shop's rows."""
        return self.build.kit

    @property
    def bolt(self) -> str:
        """The thread of the joints."""
        return self.kit.shop.bolt

    @cached_property
    def lean(self) -> float:
        """How far the mount's bolt leans out of the plane that a foot on this bar can turn in, degrees."""
        return math.degrees(math.asin(min(abs(float(self.mount.faces @ self.bar.v)), 1.0)))

    @cached_property
    def up(self) -> Array:
        """The mount's way (3,) within that plane."""
        flat = self.mount.faces - (self.mount.faces @ self.bar.v) * self.bar.v
        return np.asarray(flat / np.linalg.norm(flat))

    @cached_property
    def along(self) -> Array:
        """The foot's direction (3,)."""
        return cross(self.bar.v, self.up)

    @cached_property
    def demand(self) -> Demand:
        """The forces on the foot."""
        return Demand.of(self.forces, self.up, self.along, self.bar.v)

    @cached_property
    def at(self) -> Array:
        """The mount as the bar sees it: (u, v, w) mm."""
        return self.bar.own(self.mount.at)

    @cached_property
    def slot(self) -> float:
        """Length of the mount's hole along the foot, mm."""
        return self.kit.hole(self.mount.ask.bolt) + (2 * self.kit.shop.slot if self.mount.slotted else 0.0)

    def options(self) -> Iterator[Option]:
        """Yield every option that geometry and strength allow, before it is tried for space."""
        kit, most = self.kit, self.kit.shop.lean_most
        if self.lean > most:
            self.reasons.say(
                Step.PLANE,
                f"its bolt leans {self.lean:.0f} degrees out of the plane that a foot on the {self.bar.mark} can turn "
                f"in (shop.lean_most is {most:g})",
            )
            return
        angles = [kit.stock(name, "shop.angle_sections") for name in kit.shop.angle_sections]
        kinds = [(0.0, False), *((t, under) for t in kit.shop.plate_thicknesses for under in (False, True))]
        for side in (1, -1):
            seat = self.bar.side(side, kit, self.bolt)
            if seat.low > seat.high:
                self.reasons.say(
                    Step.PLANE,
                    f"the {self.bar.mark} is too low for {self.bolt} bolts in its side: use a higher section",
                )
                continue
            for stock in angles:
                for swapped in (False, True) if stock.width != stock.height else (False,):
                    for plate, under in kinds:
                        yield from self._of(
                            _Shape(side=side, seat=seat, stock=stock, swapped=swapped, plate=plate, under=under)
                        )

    def _of(self, shape: _Shape) -> Iterator[Option]:
        """Yield the options of one shape."""
        arm = shape.out * (float(self.at[1]) - shape.face)
        if not self._reaches(shape, arm):
            return
        metal = self.kit.metal(shape.stock.material, "shop.angle_sections", shape.stock.wall)
        pairs = self._pairs(shape.seat.hole)
        for pair in pairs if shape.plate == 0.0 else [p for p in pairs if p[0] == -p[1]]:
            found = self._foot(shape, arm, pair, metal.welds)
            if found is None:
                continue
            foot, bolts, shift, rows, places = found
            use = float(foot_stress(foot, self.demand).max()) / metal.f_yield
            if use > _SIZED:
                share = f"{use * 100:.0f} % of what it takes, sized for {_SIZED * 100:.0f} %"
                self.reasons.say(Step.FOOT, f"a foot of {shape.stock.name} would not hold its load ({share})", use)
                continue
            mass = shape.stock.profile.area() * foot.length * shape.stock.density * 1e-9
            settled = Option(
                mass=mass,
                seat=shape.seat,
                side=shape.side,
                rows=tuple(rows.tolist()),
                columns=tuple(places.tolist()),
                plate=shape.plate,
                face=shape.face,
                swapped=shape.swapped,
                foot=foot,
                shift=shift,
                bolts=bolts,
                lean=self.lean,
            )
            if shape.plate:
                yield from self._plated(settled)
            elif self._holes_free(settled):
                yield settled

    def _reaches(self, shape: _Shape, arm: float) -> bool:
        """Tell whether the angle's leg has room for the mount's nut, and reaches it with metal beyond."""
        size, t = self.mount.ask.bolt, shape.stock.wall
        under, over = t + self.kit.access(size) - arm, arm + self.kit.edge(size) - shape.legs[0]
        side = f"the {self.bar.mark}" + (f" with a {shape.plate:g} mm plate on it" if shape.plate else "")
        if under > 1e-6:
            where = f"it lies {arm:.0f} mm beside the face of {side}" if arm >= 0 else f"it lies under or over {side}"
            self.reasons.say(Step.BESIDE, f"{where}: no room for its nut beside an angle's leg", under)
            return False
        if over > 1e-6:
            where = f"it lies {arm:.0f} mm beside the face of {side}"
            self.reasons.say(Step.BESIDE, f"{where}: no angle of shop.angle_sections reaches so far", over)
            return False
        return True

    def _pairs(self, hole: float) -> list[tuple[float, float]]:
        """Return where a foot's two bolts may stand along it, from the mount, beside its nut or slot: whole mm."""
        size = self.mount.ask.bolt
        beside_nut = self.kit.access(size) + self.kit.washer(self.bolt) + 1.0
        near = math.ceil(max(beside_nut, self.slot / 2 + self.kit.hole(self.bolt) / 2 + 2.0))
        pitch = math.ceil(max(PITCH_HOLE * hole, 3.0 * self.kit.diameter(self.bolt)))
        both = [(-near - a, near + b) for a, b in _SPREADS]
        beyond = [(near, near + pitch + more) for more in _ONE_SIDE]
        return [*both, *beyond, *((-b, -a) for a, b in beyond)]

    def _foot(
        self, shape: _Shape, arm: float, pair: tuple[float, float], welds: bool
    ) -> tuple[Foot, tuple[float, float], float, Array, Array] | None:
        """Return a foot, its bolts along it, its shift, and their places across and along the bar, if it can be."""
        kit, t, size = self.kit, shape.stock.wall, self.mount.ask.bolt
        gusset = _GUSSET if welds and arm - t > GUSSET_OUT * t else 0.0
        rib = WELD_LEG + gusset + INSET if gusset else 0.0
        end = math.ceil(max(kit.edge(self.bolt), kit.washer(self.bolt) + 1.0 + rib))
        past = math.ceil(self.slot / 2 + kit.edge(size))
        a, b = pair
        low, high = min(a - end, -past), max(b + end, past)
        ends = np.array([a, b])
        gauge = self._gauge(shape, ends)
        if gauge is None:
            return None
        u0, _, w0 = self.at.tolist()
        rows = w0 + gauge * float(self.up @ self.bar.w) + ends * float(self.along @ self.bar.w)
        places = u0 + gauge * float(self.up @ self.bar.u) + ends * float(self.along @ self.bar.u)
        foot = Foot(
            mark=f"foot {self.mount.name}",
            stock=shape.stock,
            length=high - low,
            ends=(-low, high),
            arm=arm,
            gauge=gauge,
            reach=shape.legs[1],
            root=self.bar.point(float(places.mean()), shape.face, float(rows.mean())),
            along=self.along,
            out=self.bar.v * shape.out,
            up=self.up,
            gussets=gusset,
            gusset_side=min(shape.legs) - t - 2.0 if gusset else 0.0,
            hole=kit.hole(size),
        )
        return foot, (a, b), (low + high) / 2, rows, places

    def _gauge(self, shape: _Shape, ends: Array) -> float | None:
        """Return how far the foot's bolts stand from its seat, mm; None, with the reason, if they have no place.

        Without a plate they come through the bar's face, as near to its middle as they can; with one they stand clear
        of the bar, and a foot that turns back under the bar stands clear of it as a whole.
        """
        least, most = shape.stock.wall + self.kit.access(self.bolt), shape.legs[1] - self.kit.edge(self.bolt)
        if shape.plate:  # the plate's edge stays above the car's metal
            least = max(least, self.kit.edge(self.bolt) + ROUND + _CLOSE)
        gauges = np.arange(math.ceil(least - 1e-6), most + 1e-6)
        if not len(gauges):
            return None
        rise, lift = float(self.up @ self.bar.w), ends * float(self.along @ self.bar.w)
        w0, h, seat = float(self.at[2]), self.bar.half_w, shape.seat
        low, high = w0 + gauges * rise + lift.min(), w0 + gauges * rise + lift.max()
        if shape.plate == 0.0:
            good = (low >= seat.low - 1e-6) & (high <= seat.high + 1e-6)
            if not good.any():
                short = float(np.maximum(seat.low - low, high - seat.high).min())
                self.reasons.say(Step.LEVEL, f"it is not level with the {self.bar.mark}", short)
                return None
            off = np.abs((low + high) / 2 - (seat.low + seat.high) / 2)
            return float(gauges[good][off[good].argmin()])
        clear = h + self.kit.washer(self.bolt) + _CLOSE
        good = (high <= -clear) | (low >= clear)
        if shape.under:
            toe = w0 + shape.legs[1] * rise
            good &= (max(w0, toe) <= -h - _CLOSE) | (min(w0, toe) >= h + _CLOSE)
        if not good.any():
            text = f"it is too nearly level with the {self.bar.mark} for a plate, and not level enough for a foot"
            self.reasons.say(Step.LEVEL, text, float(np.minimum(high + clear, clear - low).min()))
            return None
        return float(gauges[good][0])

    def _holes_free(self, option: Option) -> bool:
        holes = option.holes()
        if all(self.bar.free_for(*hole, PITCH_HOLE) for hole in holes):
            return True
        self.reasons.say(Step.HOLES, f"its bolts would be too near to others in the {self.bar.mark}")
        return False

    def _plated(self, foot_only: Option) -> Iterator[Option]:
        """Yield the options of a foot on a plate, by where the plate's own bolts go into the bar."""
        kit, seat, foot, thick = self.kit, foot_only.seat, foot_only.foot, foot_only.plate
        drop = abs(sum(foot_only.rows) / len(foot_only.rows))
        free, stiff = drop - self.bar.half_w, kit.shop.reach_to_thickness
        if free > stiff * thick:
            self.reasons.say(
                Step.PLATE,
                f"a hanger plate {thick:g} mm thick would stand {free:.0f} mm free, over {stiff:g} times its thickness "
                "(shop.reach_to_thickness), which is not stiff",
                free / thick,
            )
            return
        pitch = max(PITCH_HOLE * seat.hole, 3.0 * kit.diameter(self.bolt))
        two = seat.high - seat.low >= pitch
        rows = (seat.low, seat.high) if two else ((seat.low + seat.high) / 2,)
        between = foot_only.bolts[1] - foot_only.bolts[0]
        apart, middle = max(pitch, between), sum(foot_only.columns) / 2
        wide = min(apart, between) + 2 * kit.edge(self.bolt)
        sheet = kit.metal(kit.shop.plate_material, "shop.plate_material", thick)
        for shift in _SHIFTS:
            stress = plate_stress(
                thickness=thick,
                width=wide,
                hole=kit.hole(self.bolt),
                demand=self.demand,
                arm=foot.arm,
                free=drop,
                offset=abs(shift),
                heel=abs(float(self.at[2])),
            )
            use = float(stress.max()) / sheet.f_yield
            if use > _SIZED:
                share = f"{use * 100:.0f} % of what it takes, sized for {_SIZED * 100:.0f} %"
                self.reasons.say(
                    Step.PLATE, f"a hanger plate {thick:g} mm thick would not hold its load ({share})", use
                )
                continue
            high = drop + max(abs(r) for r in rows) + 2 * kit.edge(self.bolt)
            option = Option(
                mass=foot_only.mass + high * (wide + abs(shift)) * thick * sheet.density * 1e-9,
                seat=seat,
                side=foot_only.side,
                rows=rows,
                columns=(middle + shift - apart / 2, middle + shift + apart / 2),
                plate=thick,
                face=foot_only.face,
                swapped=foot_only.swapped,
                foot=foot,
                shift=foot_only.shift,
                bolts=foot_only.bolts,
                lean=foot_only.lean,
            )
            if self._holes_free(option):
                yield option
