"""What must hold of an adapter's bolts: threads in the plates and in the parts, sunk heads and free ones."""

from baywright.adapter.bolting import FLOOR_D, FLOOR_MM, Bolted
from baywright.adapter.design import AdapterDesign
from baywright.adapter.engagement import CAREFUL_D, LEAST_D, least_engagement
from baywright.adapter.rules_shaft import finding
from baywright.finding import Finding, Verdict, at_least
from baywright.piece.joint import ScrewLine


def plate_threads(design: AdapterDesign) -> list[Finding]:
    """Return whether threads in the plates hold until their bolts break."""
    found = []
    for line in design.assembly.lines:
        marks = {at.mark for at in design.plates}
        tapped = [layer for layer in line.layers if layer.use == "tapped" and layer.mark in marks]
        if not tapped:
            continue
        thread = design.given.thread(line.size)
        at = next(a for a in design.plates if a.mark == tapped[0].mark)
        way = float(line.direction[2])
        # From where the thread begins on the bolt's way (a recess's floor, if it stands in one) to its tip.
        side = "motor" if way > 0 else "gearbox"
        within = [one for one in _holes_of(design, line) if one.make == "tapped"]
        near = max((one.near for one in within), default=0.0)
        room = min((one.metal(at.thickness) for one in within), default=at.thickness)
        begins = at.face("motor") + near if side == "motor" else at.face("gearbox") - near
        washer = thread.row.washer.thickness
        engaged = min(line.length - washer - abs(begins - float(line.points[0, 2])), room)
        grade = design.given.bolt_class(thread)
        strip = least_engagement(thread, grade, design.given.shear_strength)
        careful = CAREFUL_D * thread.diameter
        verdict: Verdict = (
            "fail" if engaged < strip - 1e-6 else "look" if engaged < LEAST_D * thread.diameter else "pass"
        )
        advice = {
            "fail": ": the thread strips before the bolt breaks; longer bolts, a thicker plate or steel inserts",
            "look": ": enough once; use steel inserts if it is taken apart often",
            "pass": "",
        }[verdict]
        found.append(
            finding(
                design,
                "thread engagement",
                verdict,
                f"{line.name}: {line.size} engages {engaged:.1f} mm = {engaged / thread.diameter:.2f} d of the "
                f"{at.mark}; it strips before the bolt breaks under {strip:.1f} mm{advice}",
                value=engaged,
                limit=strip,
                unit="mm",
                margin=at_least(engaged, strip),
                source=f"strip load 0.875 pi d Le tau against class {grade}; {careful:.0f} mm (2 d) is a careful rule",
                where=(at.mark,),
            )
        )
    return found


def _holes_of(design: AdapterDesign, line: ScrewLine) -> list[Bolted]:
    """Return the holes of a face that a line's bolts stand in; none for screws between plates."""
    holes = {"motor": design.motor_holes, "gearbox": design.gearbox_holes}.get(line.name.split()[0], ())
    stand = {(round(x, 6), round(y, 6)) for x, y in (line.points[:, :2] * (-1.0, 1.0)).tolist()}
    size = [one for one in holes if one.thread is not None and one.thread.name == line.size]
    return [one for one in size if (round(one.hole.x, 6), round(one.hole.y, 6)) in stand]


def others_threads(design: AdapterDesign) -> list[Finding]:
    """Return whether the depth of the motor's and the gearbox's own threads is known."""
    found = []
    for side, at in (("motor", design.plates[0]), ("gearbox", design.plates[-1])):
        for line in design.assembly.lines:
            theirs = [one for one in _holes_of(design, line) if one.make == "clearance" and one.face == side]
            if not theirs:
                continue
            known = all(one.hole.depth for one in theirs)
            thread = design.given.thread(line.size)
            face = at.face("motor") + theirs[0].near if side == "motor" else at.face("gearbox") - theirs[0].near
            under = 0.0 if theirs[0].sink else thread.row.washer.thickness
            inside = line.length - under - abs(float(line.points[0, 2]) - face)
            enough = inside >= LEAST_D * thread.diameter - 1e-6
            text = f"{line.name}: {line.size} x {line.length:g} stands {inside:.1f} mm in the {side}'s own thread"
            if not known:
                wanted = inside + 2 * thread.row.pitch
                text += f": how deep that thread is, is not known; measure that it takes {wanted:.0f} mm"
            elif not enough:
                text += f": the thread is too short for {LEAST_D:g} d, {LEAST_D * thread.diameter:g} mm; tap it deeper"
            found.append(
                finding(
                    design,
                    f"{side}'s threads",
                    "pass" if known and enough else "look",
                    text,
                    value=inside,
                    limit=LEAST_D * thread.diameter,
                    unit="mm",
                    margin=at_least(inside, LEAST_D * thread.diameter),
                    source="1.5 d in aluminium or grey iron: an engineering calculator, SAE J617 summary",
                )
            )
    return found


def heads(design: AdapterDesign) -> list[Finding]:
    """Return the floors under sunk heads, and where heads stand free."""
    found = []
    for holes, at in ((design.motor_holes, design.plates[0]), (design.gearbox_holes, design.plates[-1])):
        sunk = [
            (one.metal(at.thickness), max(FLOOR_D * one.thread.diameter, FLOOR_MM), one)
            for one in holes
            if one.sink and one.thread is not None
        ]
        if sunk:
            floor, limit, one = min(sunk, key=lambda under: at_least(under[0], under[1]))
            found.append(
                finding(
                    design,
                    "sunk heads",
                    "pass" if floor >= limit - 1e-6 else "fail",
                    f"{len(sunk)} heads of the {one.face}'s bolts are sunk {one.sink:.1f} mm from the "
                    f"{one.head}'s side; {floor:.1f} mm of metal stays under them",
                    value=floor,
                    limit=limit,
                    unit="mm",
                    margin=at_least(floor, limit),
                    source="DIN 974-1 counterbores; floor: common practice, no source",
                    where=(at.mark,),
                )
            )
        free = [one for one in holes if one.head is not None and not one.sink]
        if free and len(design.plates) == 1:
            high = max(one.head_high for one in free)
            where = "inside the bell's opening" if free[0].face == "motor" else "outside the motor"
            found.append(
                finding(
                    design,
                    "free heads",
                    "pass",
                    f"{len(free)} heads of the {free[0].face}'s bolts stand {high:.1f} mm out of the plate, {where}: "
                    "nothing that turns may pass there",
                    value=high,
                    unit="mm",
                    source="cap heads and washers",
                )
            )
    return found
