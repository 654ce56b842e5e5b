"""What is right or wrong about a design: every finding, and the car's balance with the boxes in it."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from baywright.bay.fit import FitResult, check_fit
from baywright.bay.measured import bay_of
from baywright.box.rules import check_box
from baywright.design import Design
from baywright.finding import Finding, Verdict, verdict_of, worst_first
from baywright.job.bays import Bay
from baywright.job.messages import BadInput
from baywright.job.read import Job
from baywright.job.shop import Cutter
from baywright.piece.assembly import Assembly
from baywright.piece.cutting import cutter_findings
from baywright.piece.numbering import distinct
from baywright.piece.plate import Plate
from baywright.strength.box import strength_findings
from baywright.vehicle.balance import Balance
from baywright.vehicle.whole import Vehicle, vehicle

if TYPE_CHECKING:
    from baywright.rail.design import RailDesign


@dataclass(frozen=True, eq=False)
class Review:
    """The findings about a design.

    Attributes:
        design: what was reviewed.
        findings: every finding, worst first.
        fits: by box, how it stands in its bay.
        vehicle: the car with all of it: balance, pack, range, performance.
        strength: those findings that are about strength.
    """

    design: Design
    findings: tuple[Finding, ...]
    fits: dict[str, FitResult]
    vehicle: Vehicle
    strength: tuple[Finding, ...]

    @property
    def balance(self) -> Balance:
        """The car before, stripped and after."""
        return self.vehicle.balance

    @cached_property
    def verdict(self) -> Verdict:
        """The worst verdict of all findings."""
        return verdict_of(self.findings)


def review_job(made: Design) -> Review:
    """Return the review of a design: boxes by themselves, boxes in their bays, and the car's balance.

    No file is read but the scan of a bay that names one.

    Raises:
        BadInput: if the car's figures can't be true together.
    """
    job = made.job
    car = vehicle(job, made.carried)  # first: a job whose figures can't be true is told before the long checks
    cutter = job.catalogue.cutter(job.asked.cutter)
    speed = None if job.asked.drive is None else job.asked.drive.motor.most_speed
    found: list[Finding] = []
    strength: list[Finding] = []
    fits: dict[str, FitResult] = {}
    for name, box in made.boxes.items():
        found += check_box(box)
        found += _cutting(name, "box", box.assembly, cutter)
        strength += strength_findings(box, job.load_cases, speed)
        bay = box.layout.ask.bay
        if bay is not None:
            items = [*box.assembly.placed, *box.assembly.fasteners()]
            bodies = [(item.mark, body.moved(item.pose)) for item in items for body in item.piece.bodies()]
            try:
                envelope = bay_of(bay, job.bays[bay])
                if job.bays[bay].scan or job.bays[bay].moving:
                    from baywright.bay.findings import surround_findings, surround_of  # only for a scan or what moves

                    around = surround_of(bay, job.bays[bay], job.path.parent)
                    found += surround_findings(f"box {name}", box, box.pose, around)
            except ValueError as error:
                raise BadInput([job.problem(("bays", bay), str(error))]) from None
            fits[name] = check_fit(f"box {name}", bodies, box.pose, envelope)
            found += fits[name].findings
    if made.adapters:
        from baywright.adapter.rules import check_adapter  # most jobs have none
        from baywright.strength.adapter import adapter_findings

        for adapter in made.adapters.values():
            found += check_adapter(adapter)
            strength += adapter_findings(adapter, job.load_cases)
            bored = job.catalogue.cutter(adapter.given.ask.cutter)
            found += _cutting(adapter.name, "adapter", adapter.assembly, bored)
    if made.rails:
        from baywright.rail.rules import review_rails  # most jobs have none

        for name, rails in made.rails.items():
            place, held = review_rails(rails)
            found += place
            strength += held
            found += _cutting(name, "rails", rails.assembly, cutter)
            if rails.ask.bay is not None:
                found += _rails_in_bay(job, rails, rails.ask.bay)
    found += _between(made)
    found += car.findings
    found += strength
    return Review(made, tuple(worst_first(found)), fits, car, tuple(worst_first(strength)))


def _rails_in_bay(job: Job, rails: "RailDesign", bay: str) -> list[Finding]:
    """Return how motor and rails stand in their bay as measured, scanned, and with what moves in it.

    Raises:
        BadInput: if the bay's measurements make no bay.
    """
    from baywright.bay.rails import bay_findings, inner_bodies

    bodies = inner_bodies(rails)
    try:
        found = bay_findings(rails, bay_of(bay, job.bays[bay]), bodies)
        if job.bays[bay].scan or job.bays[bay].moving:
            from baywright.bay.findings import skin_findings, surround_of  # only for a scan or what moves

            around = surround_of(bay, job.bays[bay], job.path.parent)
            found += skin_findings(f"rails {rails.name}", bodies, rails.pose, around)
    except ValueError as error:
        raise BadInput([job.problem(("bays", bay), str(error))]) from None
    return found


def _between(made: Design) -> list[Finding]:
    """Return the findings about the room between the boxes, and between boxes and drive, in the car."""
    bays = made.job.bays
    if len(made.boxes) + len(made.adapters) + len(made.rails) < 2 and len(bays) < 2:
        return []
    from baywright.bay import between  # for two things, or a thing and another's bay

    def asked(bay: str | None) -> float:
        return bays[bay].clearance if bay is not None else float(Bay.model_fields["clearance"].default)

    boxes = {name: between.box_in_car(box, asked(box.layout.ask.bay)) for name, box in made.boxes.items()}
    drive = [between.adapter_in_car(made.adapters[name], stands, 0.0) for name, stands in made.adapter_poses.items()]
    things = [(box, made.boxes[name].layout.ask.bay) for name, box in boxes.items()]
    things += [(adapter, None) for adapter in drive]
    if made.rails:
        from baywright.rail.clear import rocking
        from baywright.rail.stress import solve

        rails = [between.rails_in_car(one, rocking(solve(one)).moves) for one in made.rails.values()]
        drive += rails
        things += [(one, held.ask.bay) for one, held in zip(rails, made.rails.values(), strict=True)]
    return between.between_findings(list(boxes.values()), drive) + between.keep_out_findings(things, bays)


def _cutting(name: str, kind: str, assembly: Assembly, cutter: Cutter) -> list[Finding]:
    """Return what the chosen cutter can't do or hardly can, or one pass for all plates of an assembly."""
    plates = tuple(item for item in assembly.placed if isinstance(item.piece, Plate))
    parts = distinct(Assembly(name=name, placed=plates))
    every = [finding for part in parts for finding in cutter_findings(part, cutter)]
    subject = f"{kind} {name}"
    doubtful = [replace(f, subject=subject) for f in every if f.verdict != "pass"]
    return doubtful or [
        Finding(
            subject=subject,
            check="cutter",
            verdict="pass",
            message=f"'{cutter.name}' can cut all {len(parts)} kinds of plate as drawn",
            source=cutter.source,
        )
    ]
