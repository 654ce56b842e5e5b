"""Screws between two pieces: what each of a row may take, all its ways of failing together; the worst of a group."""

from collections.abc import Mapping

import numpy as np

from baywright.mechanics.boltgroup import BoltForces
from baywright.piece.joint import ScrewLine
from baywright.strength.allow import Metal
from baywright.strength.bench import Bench
from baywright.strength.working import Working

ELASTIC = "elastic method for bolt groups: Shigley, Mechanical Engineering Design"


def worst_screw(limits: Mapping[str, float], got: BoltForces, *holes: str) -> int:
    """Return which screw of a group is used most: shear and pull together, its thread, bearing.

    Args:
        limits: what each may take, N: F_v_Rd, F_t_Rd, F_s_Rd, and of the holes by their names.
        got: what each takes.
        holes: names of what the metal round its holes may take.
    """
    pull = np.maximum(got.tension, 0.0)
    uses = [got.across / limits["F_v_Rd"] + pull / (1.4 * limits["F_t_Rd"]), pull / limits["F_s_Rd"]]
    uses += [got.across / limits[hole] for hole in holes]
    return int(np.max(uses, axis=0).argmax())


def row_use(
    b: Bench,
    w: Working,
    line: ScrewLine,
    *,
    count: int,
    shear: float | str,
    pull: float | str,
    near: tuple[Metal, float, float],
    far: tuple[Metal, float, float],
) -> float:
    """Add how much of a row of screws is used, the bond ignored: shear and pull, thread, head and bearing.

    Args:
        b: the throw.
        w: the calculation.
        line: the screws.
        count: how many of them share.
        shear: across all, N; this and the next may be formulas of lines that `w` has.
        pull: on all, N.
        near: the metal under the heads: its figures, its thickness, the least edge distance of its holes (mm).
        far: the tapped metal likewise; its thickness is what the thread engages.
    """
    w.given("n", count, "", "screws that share")
    w.put("V_all", shear, "N", "shear on the joint")
    w.put("N_all", pull, "N", "pull on the joint")
    w.let("V", "V_all / n", "N", "shear of one")
    w.let("N", "N_all / n", "N", "pull of one")
    b.allow.screw(w, line.size)
    b.allow.strip(w, line.size, far[1], far[0])
    b.allow.punch(w, line.head[0], near[1], near[0])
    b.allow.bearing(w, line.size, line.layers[0].diameter, near[1], near[0], near[2], near[2], "_1")
    b.allow.bearing(w, line.size, line.layers[-1].diameter, far[1], far[0], far[2], far[2], "_2")
    w.let("u_1", "V / F_v_Rd + N / (1.4 * F_t_Rd)", "", "shear and pull together", "EN 1993-1-8 table 3.4, from memory")
    w.let("u_2", "max(N / F_s_Rd, N / B_p_Rd)", "", "thread, and head through the sheet")
    w.let("u_3", "max(V / F_b_Rd_1, V / F_b_Rd_2)", "", "bearing in both")
    return w.let("use", "max(u_1, u_2, u_3)", "", "share of the screws that is used, bond ignored")
