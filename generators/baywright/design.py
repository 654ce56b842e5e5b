"""From the job to what is to be made: every box, in its own frame and in the car's."""

from dataclasses import dataclass
from functools import cached_property

from baywright.box.generate import BoxDesign, generate
from baywright.finding import CannotBuild
from baywright.job.messages import BadInput
from baywright.job.read import Job
from baywright.shape.mass import MassProperties


@dataclass(frozen=True, eq=False)
class Design:
    """What a job's request comes to.

    Attributes:
        job: what was asked.
        boxes: each box's design by its name.
    """

    job: Job
    boxes: dict[str, BoxDesign]

    @cached_property
    def carried(self) -> list[tuple[str, MassProperties]]:
        """Every generated thing as (name, mass properties in the vehicle's frame): what the balance adds to the car."""
        return [(f"box {name}", box.mass_properties.moved(box.pose)) for name, box in self.boxes.items()]


def design_job(job: Job) -> Design:
    """Return the design of everything a job asks for.

    Raises:
        BadInput: with a sentence for every part that cannot be made, naming the file, the key and what to change.
    """
    boxes, problems = {}, []
    for name, ask in job.boxes.items():
        try:
            boxes[name] = generate(name, ask, job.catalogue)
        except CannotBuild as no:
            problems.append(job.problem(("boxes", name, no.key), no.sentence))
    if problems:
        raise BadInput(problems)
    return Design(job, boxes)
