"""The steps in which an adapter is proved on the real parts, machined, put together and measured."""

from collections.abc import Sequence

from baywright.adapter.build import MOTOR
from baywright.adapter.design import AdapterDesign
from baywright.piece.joint import ScrewLine
from baywright.release.drawing.adapter_depth import FACES
from baywright.release.steps.step import Step, Table, screws_of


def adapter_steps(design: AdapterDesign) -> list[Step]:
    """Return an adapter's steps: paper first, metal next, run-out and depth measured before the gearbox goes on."""
    assembly = design.assembly
    driven = [line for line in assembly.lines if line.screw is not None]
    plates = {at.mark for at in design.plates}
    to_motor = [line for line in driven if MOTOR in _marks(line)]
    joining = [line for line in driven if len(_marks(line) & plates) > 1]
    to_gearbox = [line for line in driven if line not in to_motor and line not in joining]
    first = {m for line in to_motor for m in _marks(line)} | {MOTOR}
    rings = {p.mark for p in assembly.placed} - plates - {MOTOR}
    whole = plates | rings | {MOTOR}
    steps = [_offer_up(design), _machine(design, plates)]
    if design.given.ask.coupler is not None:
        steps.append(_coupler())
    if to_motor:
        steps.append(_bolt_on("Plate on the motor", first - {MOTOR}, first, to_motor))
    if joining:
        steps.append(_bolt_on("The other plates", whole - first, whole, joining))
    steps.append(_measure(design, whole))
    if to_gearbox:
        steps.append(_to_gearbox(design, whole, to_gearbox))
    steps.append(_in_the_car(design, whole))
    return steps


def _marks(line: ScrewLine) -> set[str]:
    return {layer.mark for layer in line.layers}


def _offer_up(design: AdapterDesign) -> Step:
    motor, gearbox = design.given.ask.motor, design.given.ask.gearbox
    return Step(
        "Paper before metal",
        [
            "Print the paper template at full size and check its scale line with a rule",
            f"Lay it on the bell of {gearbox}: every hole over its hole, the locating step concentric",
            f"Lay it on the face of {motor}, clocked as drawn, terminals and ports where they must be",
            "Check the side: each sheet says whether it is seen from the motor or from the gearbox",
            "Measure both spigots and recesses, and the depth from the bell's face to the input shaft's end",
        ],
        fields=[
            "motor's spigot, mm",
            "gearbox's recess, mm",
            "bell to shaft's end, mm",
            "input shaft run-out, mm",
            "template fits",
            "done by",
            "date",
        ],
        notes=["A mirrored hole pattern is the dearest mistake there is. Nothing is cut before this page is signed."],
    )


def _machine(design: AdapterDesign, plates: set[str]) -> Step:
    tapped: dict[str, int] = {}
    reamed: dict[str, int] = {}
    for at in design.plates:
        piece = design.piece(at.mark)
        for hole in piece.holes:
            if hole.use == "tapped":
                tapped[f"{at.mark}: {hole.callout}"] = tapped.get(f"{at.mark}: {hole.callout}", 0) + 1
            elif "ream" in hole.callout:
                reamed[hole.callout] = max(
                    reamed.get(hole.callout, 0), sum(h.callout == hole.callout for h in piece.holes)
                )
    does = [f"{text} ({count} holes)" for text, count in sorted(tapped.items())]
    does += [f"{count} × {text}" for text, count in sorted(reamed.items())]
    if len(design.plates) > 1:
        does.append("Holes reamed together: plates bolted up and lined up on the bores first, one setting; then apart")
    does += [
        "Bore spigot seats last, in one setting with the face that they stand square to, to the measured spigots",
        "Deburr every edge; stone the faces; no burr round a tapped or reamed hole",
        f"Check thickness at six places round each plate: flat and parallel within {FACES:g} mm",
        "Blow out every hole and wash the plates",
    ]
    rows = [
        (bore.what, f"{bore.diameter:g} {bore.fit}".strip(), _limits(bore.limits))
        for bore in dict.fromkeys(bore for one in design.bores for bore in one.bores)
    ]
    tables = [Table(("opening", "size, mm", "limits, mm"), tuple(rows), (98.0, 40.0, 44.0))]
    made = [(at.mark, design.piece(at.mark)) for at in design.plates]
    kinds = tuple(
        (mark, f"{piece.thickness:g}", piece.material, f"seen from {piece.seen_from}") for mark, piece in made
    )
    tables.append(Table(("plate", "thickness, mm", "material", "drawn"), kinds, (60.0, 30.0, 40.0, 52.0)))
    fields = ["bores measured, mm", "flat within, mm", "parallel within, mm", "done by", "date"]
    return Step("Bore, ream, tap", does, set(plates), set(plates), tables=tables, fields=fields)


def _limits(limits: object) -> str:
    least, most = getattr(limits, "least", None), getattr(limits, "most", None)
    return "as cut" if least is None or most is None else f"{least:.3f} to {most:.3f}"


def _coupler() -> Step:
    return Step(
        "Coupler on the motor's shaft",
        [
            "Degrease shaft and bore; key or spline clean, no burr",
            "Coupler home against its stop; secured as its maker says",
            "Turn the shaft by hand: the coupler's bore and face run true",
            "Try the gearbox's input shaft in the coupler: it slides by hand, without play in turning",
        ],
        fields=["motor's face to coupler, mm", "bore run-out, mm", "secured with, N·m", "done by"],
    )


def _bolt_on(title: str, new: set[str], there: set[str], lines: Sequence[ScrewLine]) -> Step:
    return Step(
        title,
        [
            "Faces clean and dry; dowels or spigot first: it goes on by hand, never drawn on by its screws",
            _by_hand(lines),
            "Thread lock, if any, by its maker's sheet: torques here are for dry threads; mark each screw when done",
            "No gap anywhere: a 0.05 mm feeler does not enter",
        ],
        new,
        there,
        lines=list(lines),
        fields=["torque wrench's number", "thread lock", "done by", "checked by"],
    )


def _by_hand(lines: Sequence[ScrewLine]) -> str:
    """Return how many pins and screws go in, and in what order."""
    pins = sum(len(line.points) for line in lines if not line.size)
    screws = screws_of(list(lines)) - pins
    first = f"{pins} pins pressed home first; " if pins else ""
    return f"{first}{screws} screws in by hand, then crosswise in two rounds"


def _measure(design: AdapterDesign, whole: set[str]) -> Step:
    budget = design.run_out
    rows = [
        (
            check.name,
            f"{check.value:.2f} ± {check.worst:.2f}",
            "" if check.least is None else f"{check.least:g}",
            "" if check.most is None else f"{check.most:g}",
            "",
        )
        for check in design.depth.checks
    ]
    table = Table(("depth, mm", "reckoned", "least", "most", "measured"), tuple(rows), (88.0, 34.0, 18.0, 18.0, 24.0))
    return Step(
        "Measure before the gearbox goes on",
        [
            "Dial gauge on the motor's shaft, its tip on the step that locates the gearbox: turn the shaft once round",
            f"Full movement at that step at most {min(budget.worst_at_plate, budget.limit):.3f} mm;"
            f" at the input shaft {budget.limit:g} mm is the limit, {budget.likely:.3f} mm is likely",
            "The same on the plate's face, near its edge: it stands square to the shaft",
            "Measure every depth in the table; shim or face off what is out, and measure again",
        ],
        set(),
        whole,
        tables=[table],
        fields=["movement at the step, mm", "movement on the face, mm", "shims", "measured by", "date"],
        notes=["With more run-out than the limit the input shaft's bearing and the coupler fail early: do not run it."],
    )


def _to_gearbox(design: AdapterDesign, whole: set[str], lines: Sequence[ScrewLine]) -> Step:
    return Step(
        "Motor and adapter on the gearbox",
        [
            "Hold the motor in rated lifting gear, level with the input shaft; never let it hang on the shaft",
            "Slide it home by hand: it closes without force. If it stops short, take it off and find out why",
            f"{screws_of(list(lines))} screws and pins from the bell's side, by hand, then crosswise in two rounds",
            "Turn the motor by hand, gearbox in neutral: free and even all round; then in each gear",
        ],
        set(),
        whole,
        lines=list(lines),
        fields=["torque wrench's number", "turns free", "done by", "checked by"],
        notes=["Never draw the faces together with the screws: a plate bends, a bearing is ruined."],
    )


def _in_the_car(design: AdapterDesign, whole: set[str]) -> Step:
    held = [line for line in design.assembly.lines if line.screw is None and line.size]
    count = sum(len(line.points) for line in held)
    return Step(
        "In the car",
        [
            *([f"{count} of the car's own bolts through the plate's lugs, by the car's manual"] if count else []),
            "Guards over everything that turns, before power is connected",
            "First run on stands, slowly, a hand on the switch: listen, then feel for heat at the coupler",
            "Tighten every screw again after the first 50 to 100 km (common practice, no source)",
        ],
        set(),
        whole,
        fields=["mounted by", "first run, r/min", "noise or heat", "tightened again at, km", "checked by", "date"],
        notes=["Never above the motor's rated speed, with or without load."],
    )
