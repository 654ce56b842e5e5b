"""Why something could not be done, the nearest miss kept."""

from dataclasses import dataclass


@dataclass(eq=False)
class Reasons:
    """Why a mount could not be reached: the reason that came nearest to success counts."""

    best: tuple[int, float, str] = (-1, 0.0, "nothing was tried")

    def say(self, stage: int, text: str, short: float = 0.0) -> None:
        """Keep a reason if it came from a later stage than the one kept, or fell short by fewer millimetres."""
        if (stage, -short) > self.best[:2]:
            self.best = (stage, -short, text)

    @property
    def text(self) -> str:
        """The reason that counts."""
        return self.best[2]
