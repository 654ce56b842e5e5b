"""What the calculations of motor rails share: the case that governs, what a bolt takes, how a sheet ends."""

from baywright.mechanics.boltgroup import GAMMA_M2, SHEAR_SHARE
from baywright.rail.stress import Solved, Use
from baywright.strength.check import Calculation
from baywright.strength.working import Working

UNFACTORED = "frame of rails, hangers, bolts and mounts by their stiffness"
FRAME = f"{UNFACTORED}; load factor in"
EC3 = "EN 1993-1-8 table 3.4, from memory"


def told(
    member: str, piece: str, what: str, use: Use, w: Working, figures: tuple[str, str, str], cure: str = ""
) -> Calculation:
    """Return a calculation whose working ends with the lines `figures` name: demand, resistance, and their unit."""
    demand, resistance, unit = figures
    if unit:
        w.let("use", f"{demand} / {resistance}", "", "share that is used; over 1 fails")
    return Calculation(
        member=member,
        piece=piece,
        what=what,
        case=use.case,
        throw="load factor in",
        demand=w.values[demand],
        resistance=w.values[resistance] if unit else 1.0,
        unit=unit,
        use=w.values["use"],
        working=w,
        where=(piece,),
        at=use.at,
        help=cure,
        note=use.note,
    )


def case_of(solved: Solved, use: Use) -> int:
    """Return the number of the load case that governs a use."""
    return next(i for i, case in enumerate(solved.cases) if case.name == use.case)


def fastener(w: Working, solved: Solved, size: str) -> None:
    """Add what one bolt of the shop's class takes: F_v_Rd and F_t_Rd, N."""
    row, grade = solved.design.kit.row(size), solved.design.kit.shop.grade
    w.given("A_s", row.stress_area, "mm²", f"stress area of {size}", row.source)
    w.given("F_m", row.ultimate_load[grade], "N", f"its least breaking load, class {grade}", row.source)
    w.let("f_ub", "F_m / A_s", "MPa", "its tensile strength")
    w.given("γ_M2", GAMMA_M2, "", "partial factor of bolts", "EN 1993-1-8, from memory")
    w.given("α_v", SHEAR_SHARE[grade], "", "share in shear through the thread", EC3)
    w.let("F_v_Rd", "α_v * f_ub * A_s / γ_M2", "N", "shear of one bolt", EC3)
    w.let("F_t_Rd", "0.9 * f_ub * A_s / γ_M2", "N", "tension of one bolt", EC3)
