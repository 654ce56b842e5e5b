"""Whether a hanger's metal holds a mount's load: a foot and a plate as short beams, by hand formulas.

Case by case, the size of each of the mount's forces counts, whichever way it points, where bending is greatest.
The weld's throat is 0.7 of its leg; its resistance follows the simplified rule of EN 1993-1-8, 4.5.3.3 (from memory).
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from baywright.mechanics.section import SectionProperties, section_properties
from baywright.rail.bars import Bar
from baywright.rail.design import Foot, Hanger, Saddle

Array = NDArray[np.float64]

# Leg of the gussets' fillet welds, mm: about 0.7 of the thinner metal (common practice, no source).
WELD_LEG = 4.0
# Cut off a gusset's corner, so that it clears the angle's root and the weld runs round, mm.
SNIPE = 10.0
# How far gussets stand in from the ends of their angle, so that their outer fillets have metal to lie on, mm.
INSET = 6.0
WELD_THROAT = 0.7
GAMMA_M2 = 1.25
WELD_BETA = 0.8  # correlation factor of S235, EN 1993-1-8, table 4.1, from memory


@dataclass(frozen=True, eq=False, kw_only=True)
class Demand:
    """The sizes of a mount's forces on its foot, (cases,) N, load factor in: along its way, along the foot, out."""

    up: Array
    along: Array
    out: Array

    @staticmethod
    def of(forces: Array, up: Array, along: Array, out: Array) -> "Demand":
        """Return the sizes of forces (cases, 3) N along three directions (3,)."""
        size = np.abs(forces @ np.column_stack([up, along, out]))
        return Demand(up=size[:, 0], along=size[:, 1], out=size[:, 2])


def foot_stress(foot: Foot, demand: Demand) -> Array:
    """Return the stress (cases,) in MPa of a foot: of its leg to the mount or of its leg at the bolts."""
    return np.maximum(root_stress(foot, demand), bolt_line_stress(foot, demand))


def root_stress(foot: Foot, demand: Demand) -> Array:
    """Return the stress (cases,) in MPa where the leg that the mount's bolt goes through leaves the other leg."""
    t, n, arm = foot.stock.wall, foot.length, foot.arm - foot.stock.wall
    # The bolt's force spreads at 45 degrees on its way to the root, as far as there is metal.
    wide = sum(min(end, arm + foot.hole) for end in foot.ends)
    bending = demand.up * arm / _modulus(wide, t, foot.gussets, foot.gusset_side)
    sideways = demand.along * arm / (t * n * n / 6)
    direct = demand.out / (t * max(n - foot.hole, 1.0))
    return bending + sideways + direct


def bolt_line_stress(foot: Foot, demand: Demand) -> Array:
    """Return the stress (cases,) in MPa of the bolted leg at its bolts, two holes taken out."""
    t, net = foot.stock.wall, foot.length - 2 * foot.hole
    rib = max(foot.gusset_side - (foot.gauge - t), 0.0) if foot.gussets else 0.0
    moment = demand.up * foot.arm + demand.out * foot.gauge
    return moment / _modulus(net, t, foot.gussets, rib) + (demand.up + demand.along) / (t * net)


def bolt_tension(foot: Foot, demand: Demand) -> Array:
    """Return the tension (cases,) in N of each of a foot's two bolts: the mount's moment over the leg's nearer edge.

    The leg tips about its heel or about its toe; the nearer of both to the bolts counts.
    """
    lever = min(foot.gauge, foot.reach - foot.gauge)
    return ((demand.up * foot.arm + demand.out * foot.gauge) / lever + demand.out) / 2


def saddle_stress(saddle: Saddle, demand: Demand) -> Array:
    """Return the stress (cases,) in MPa where a saddle leaves what it bears on."""
    t, wide = saddle.wall, saddle.width
    bending = demand.up * saddle.free / (wide * t * t / 6)
    within = (demand.along * saddle.arm + demand.out * abs(saddle.offset)) / (t * wide * wide / 6)
    return bending + within + demand.out / (t * wide)


def saddle_tension(saddle: Saddle, demand: Demand) -> Array:
    """Return the tension (cases,) in N of the more loaded of a saddle's two bolts.

    Across the bar it tips about the edge of what it bears on; along it the bolts are the two ends of a lever.
    """
    across = (demand.up * saddle.arm + demand.out * (saddle.gap + saddle.wall)) / saddle.support / 2
    return across + demand.up * (0.5 + abs(saddle.offset) / saddle.apart)


def weld_use(foot: Foot, demand: Demand, f_ultimate: float) -> Array:
    """Return how much (cases,) of the gussets' welds is used, 1 = all: they carry the whole moment at the root."""
    if not foot.gussets:
        return np.zeros_like(demand.up)
    moment = demand.up * (foot.arm - foot.stock.wall)
    # Two gussets, a fillet on both sides of each; the moment's pull is on the outer two thirds of a leg.
    length = 2 * 2 * max(foot.gusset_side - SNIPE, 1.0) / 2
    force = moment / (2 / 3 * foot.gusset_side)
    resistance = f_ultimate / (math.sqrt(3) * WELD_BETA * GAMMA_M2) * WELD_THROAT * WELD_LEG * length
    return force / resistance


def wall_pull(thickness: float, f_yield: float, washer: float, clear: float) -> float:
    """Return the pull in N of one bolt that yields the wall of a tube under its washer.

    The washer is a stiff disc on a round plate that is clamped at the wall's edges. Limit analysis by Tresca's rule
    (first principles; Hodge has such plates, from memory): where the moment along the radius is positive the one round
    it is M = f_y t^2 / 4, beyond that both differ by M, and at the edge the first is -M. The pull is then 2 pi M p with
    (p - 1) ln((R / a) (p - 1) / p) = 1, which for a point is 2 pi M.

    Args:
        thickness: of the wall, mm.
        f_yield: MPa.
        washer: outside radius a of the washer, mm.
        clear: width of the wall between its corners, 2 R, mm.
    """
    ratio = max(clear / 2 / washer, 1.05)
    low, high = 1.0 + 1e-9, 1e3
    for _ in range(60):
        p = (low + high) / 2
        if (p - 1) * math.log(ratio * (p - 1) / p) < 1.0:
            low = p
        else:
            high = p
    return 2 * math.pi * low * f_yield * thickness**2 / 4


def cleat_stress(force: Array, moments: Array, thickness: float, length: float, net: float) -> Array:
    """Return the stress (cases,) in MPa of an upright angle that passes a lug's load on to a rail.

    Each leg is a plate that bends about the angle's length (its holes taken out) and, on edge, square to it.

    Args:
        force: (cases, 3) N: along the shaft, across it, along the angle.
        moments: (stations, cases, 3) N·mm about places of the legs: bolt lines and heel; the worst counts.
        thickness: mm.
        length: of the angle, mm.
        net: length less a column of holes, mm.
    """
    flat = np.abs(moments[..., 2]) / (net * thickness**2 / 6)
    on_edge = np.hypot(moments[..., 0], moments[..., 1]) / (thickness * length**2 / 6)
    direct = np.linalg.norm(force, axis=-1) / (thickness * net)
    return np.asarray((flat + on_edge).max(axis=0) + direct)


def plate_stress(
    *,
    thickness: float,
    width: float,
    hole: float,
    demand: Demand,
    arm: float,
    free: float,
    offset: float,
    heel: float,
) -> Array:
    """Return the stress (cases,) in MPa of a hanger plate between its bolts in the foot and in the bar.

    Args:
        thickness: mm.
        width: square to the line from bar to foot, mm.
        hole: two of them taken out of the width, mm.
        demand: the mount's forces.
        arm: from the plate to the mount's bolt, mm.
        free: from the foot's bolts to the bar's bolts, mm.
        offset: of the foot's middle from the plate's bolts along the bar, mm.
        heel: from the bar's centre line to the mount's seat, mm.
    """
    net = max(width - 2 * hole, 1.0)
    across = demand.up * (arm + thickness / 2) + demand.out * heel
    within = demand.up * offset + demand.along * max(heel, free)
    bending = across / (net * thickness**2 / 6) + within / (thickness * net**2 / 6)
    return bending + (demand.up + demand.along) / (thickness * net)


def plate_lengths(hanger: Hanger, bar: Bar) -> dict[str, float]:
    """Return a hanger plate's lengths free, offset and heel, mm, as `plate_stress` takes them."""
    run = hanger.foot.root - hanger.plate_root
    heel = abs(float((hanger.mount.at - hanger.plate_root) @ bar.w))
    return {"free": abs(float(run @ bar.w)), "offset": abs(float(run @ bar.u)), "heel": heel}


def strip(foot: Foot, length: float) -> SectionProperties:
    """Return one leg of a foot as a beam `length` mm long: a flat bar, its gussets at half their depth.

    Its section's x runs along the foot, y across the leg.
    """
    t = foot.stock.wall
    bar = replace(foot.stock, shape="bar", width=foot.length, height=t)
    plain = section_properties(bar)
    if not foot.gussets:
        return plain
    depth = min(foot.gusset_side, length) / 2
    return replace(plain, ix=_ribbed(foot.length, t, foot.gussets, depth)[0])


def _modulus(width: float, thickness: float, rib: float, depth: float) -> float:
    """Return the section modulus in mm³ of a strip with two ribs on one side (rib 0: the strip alone)."""
    second, fibre = _ribbed(width, thickness, rib, depth)
    return second / fibre


def _ribbed(width: float, thickness: float, rib: float, depth: float) -> tuple[float, float]:
    """Return the second moment (mm⁴) and the farthest fibre (mm) of a strip with two ribs on one side."""
    if not rib or depth <= 0:
        return width * thickness**3 / 12, thickness / 2
    flat, ribs = width * thickness, 2 * rib * depth
    centre = (flat * thickness / 2 + ribs * (thickness + depth / 2)) / (flat + ribs)
    second = width * thickness**3 / 12 + flat * (centre - thickness / 2) ** 2
    second += 2 * rib * depth**3 / 12 + ribs * (thickness + depth / 2 - centre) ** 2
    return second, max(centre, thickness + depth - centre)
