"""From the job to what is to be made: every box, adapter and set of rails, in its own frame and in the car's."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from baywright.box.generate import BoxDesign, generate
from baywright.finding import CannotBuild
from baywright.job.adapters import AdapterAsk
from baywright.job.messages import BadInput
from baywright.job.rails import KeepClear
from baywright.job.read import Job
from baywright.shape.mass import MassProperties
from baywright.shape.pose import Pose, pose, turned

if TYPE_CHECKING:
    from baywright.adapter.design import AdapterDesign
    from baywright.rail.design import RailDesign


@dataclass(frozen=True, eq=False)
class Design:
    """What a job's request comes to.

    Attributes:
        job: what was asked.
        boxes: each box's design by its name.
        adapters: each adapter's design by its name.
        rails: each set of motor rails' design by its name.
        adapter_poses: by name, where an adapter stands in the vehicle's frame, its z to the gearbox and its y up; none
            of an adapter whose place is not known.
    """

    job: Job
    boxes: dict[str, BoxDesign]
    adapters: "dict[str, AdapterDesign]" = field(default_factory=dict)
    rails: "dict[str, RailDesign]" = field(default_factory=dict)
    adapter_poses: dict[str, Pose] = field(default_factory=dict)

    @cached_property
    def carried(self) -> list[tuple[str, MassProperties]]:
        """Every generated thing as (name, mass properties in the vehicle's frame): what the balance adds to the car.

        An adapter counts where its place in the car is known.
        """
        found = [(f"box {name}", box.mass_properties.moved(box.pose)) for name, box in self.boxes.items()]
        for name, where in self.adapter_poses.items():
            found.append((f"adapter {name}", self.adapters[name].metal.moved(where)))
        for rails in self.rails.values():
            found += rails.carried
        return found


def _own_place(ask: AdapterAsk) -> Pose | None:
    """Return where an adapter stands by its own request in the vehicle's frame; None if it says nothing of it."""
    if ask.at is None:
        return None
    # Its z to the rear, y up; then turned about the vehicle's Z.
    to_rear = pose((0, 1, 0), (0, 0, 1), (0, 0, 0))
    return turned("z", ask.yaw, ask.at).after(to_rear)


def design_job(job: Job) -> Design:
    """Return the design of everything a job asks for.

    Raises:
        BadInput: with a sentence for every part that cannot be made, naming the file, the key and what to change.
    """
    boxes, adapters, places, problems = {}, {}, {}, []
    for name, ask in job.boxes.items():
        try:
            boxes[name] = generate(name, ask, job.catalogue)
        except CannotBuild as no:
            problems.append(job.problem(("boxes", name, no.key), no.sentence))
    if job.adapters:
        from baywright.adapter.generate import generate as generate_adapter  # most jobs have none

        for name, wanted in job.adapters.items():
            try:
                adapters[name] = generate_adapter(name, wanted, job.catalogue, job.path.parent)
            except CannotBuild as no:
                problems.append(job.problem(("adapters", name, no.key), no.sentence))
            where = _own_place(wanted)
            if where is not None:
                places[name] = where
    rails: dict[str, RailDesign] = {}
    joined_to: dict[str, str] = {}
    if job.rails:
        from baywright.joined import joined
        from baywright.rail.generate import generate as generate_rails  # most jobs have none

        for name, asked in job.rails.items():
            bay = job.bays[asked.bay] if asked.bay is not None else None
            things = [KeepClear(name=t.name, low=t.low, high=t.high) for t in bay.keep_outs] if bay else []
            try:
                if (plate := asked.adapter) is not None:
                    if plate not in adapters:
                        continue  # what is wrong with the adapter is told already
                    if plate in joined_to:
                        raise CannotBuild("adapter", f"'{plate}' joins the motor of rails '{joined_to[plate]}' already")
                    joined_to[plate] = name
                    asked, places[plate] = joined(asked, adapters[plate])
                rails[name] = generate_rails(name, asked, job.catalogue, things)
            except CannotBuild as no:
                problems.append(job.problem(("rails", name, *no.key.split(".")), no.sentence))
    if problems:
        raise BadInput(problems)
    return Design(job, boxes, adapters, rails, places)
