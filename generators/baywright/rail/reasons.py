"""Why something could not be done, the nearest miss kept."""

from dataclasses import dataclass
from enum import IntEnum


class Step(IntEnum):
    """How far the work on a mount had come when it failed."""

    PLANE = 0  # the bolt leans out of the plane that a foot turns in
    BESIDE = 1  # too near to the bar's side, or too far from it
    LEVEL = 2  # too high or too low; a crossbar has no place
    FOOT = 3  # foot or saddle too weak
    PLATE = 4  # plate too weak or too long
    HOLES = 5  # bolts too near to others
    SPACE = 6  # something else is there


@dataclass(eq=False)
class Reasons:
    """Why a mount could not be reached: the reason that came nearest to success counts."""

    best: tuple[int, float, str] = (-1, 0.0, "nothing was tried")

    def say(self, step: Step, text: str, short: float = 0.0) -> None:
        """Keep a reason if the work had come farther than at the one kept, or as far and fell less short."""
        if (step, -short) > self.best[:2]:
            self.best = (step, -short, text)

    @property
    def text(self) -> str:
        """The reason that counts."""
        return self.best[2]
