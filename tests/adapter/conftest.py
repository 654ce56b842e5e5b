"""A make-believe bench: holes whose places are known, and readings of them with noise and, if asked, one mistake."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np
import pytest

from baywright.adapter.readings import Layout, Reading
from baywright.adapter.survey import Walk


@dataclass
class Bench:
    places: np.ndarray
    diameters: np.ndarray
    sigma: float = 0.05
    seed: int = 0
    readings: list[Reading] = field(default_factory=list)
    shaft: float = 25.0

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)

    @property
    def names(self) -> list[str]:
        return [str(k + 1) for k in range(len(self.places))]

    def noise(self) -> float:
        return float(self.rng.normal() * self.sigma)

    def pairs(self, pairs: Sequence[tuple[int, int]] | None = None, how: str = "mixed") -> "Bench":
        for i, j in combinations(range(len(self.places)), 2) if pairs is None else pairs:
            kind = str(self.rng.choice(["inside", "outside", "centre"])) if how == "mixed" else how
            half = float(self.diameters[i] + self.diameters[j]) / 2
            value = float(np.linalg.norm(self.places[i] - self.places[j]))
            value += {"centre": 0.0, "inside": -half, "outside": half}[kind] + self.noise()
            a, b = self.names[i], self.names[j]
            label = f"{kind} {a}-{b}"
            self.readings.append(
                Reading(how=kind, first=a, second=b, value=value, sigma=self.sigma, label=label)  # type: ignore[arg-type]
            )
        return self

    def gauges(self) -> "Bench":
        for name, d in zip(self.names, self.diameters, strict=True):
            value = float(d) + self.noise()
            self.readings.append(
                Reading(how="diameter", first=name, value=value, sigma=self.sigma, label=f"diameter {name}")
            )
        return self

    def to_shaft(self, holes: Sequence[int] | None = None) -> "Bench":
        for k in range(len(self.places)) if holes is None else holes:
            value = float(np.linalg.norm(self.places[k])) + self.noise()
            self.readings.append(
                Reading(
                    how="centre",
                    first=self.names[k],
                    second="shaft",
                    value=value,
                    sigma=self.sigma,
                    label=f"centre {self.names[k]}-shaft",
                )
            )
        return self

    def wrong(self, k: int, by: float) -> "Bench":
        self.readings[k] = replace(self.readings[k], value=self.readings[k].value + by)
        return self

    def layout(self, square: bool = False) -> Layout:
        return Layout(readings=tuple(self.readings), square=square)

    def walk(self, holes: tuple[int, int, int] | None = None) -> Walk:
        n = len(self.places)
        holes = holes or (0, n // 3, 2 * n // 3)
        a, b, c = (self.places[k] for k in holes)
        cross = (b - a)[0] * (c - b)[1] - (b - a)[1] * (c - b)[0]
        return Walk(holes=tuple(self.names[k] for k in holes), clockwise=bool(cross < 0))  # type: ignore[arg-type]

    def off(self, positions: np.ndarray) -> np.ndarray:
        """Distances (n,) of positions from the true places, once turned about the origin to fit."""
        q, p = positions, self.places
        turn = np.arctan2((q[:, 0] * p[:, 1] - q[:, 1] * p[:, 0]).sum(), (q * p).sum())
        c, s = np.cos(turn), np.sin(turn)
        return np.linalg.norm(q @ np.array([[c, s], [-s, c]]) - p, axis=1)


def uneven(count: int, seed: int) -> np.ndarray:
    """Holes (n, 2) mm round a shaft, like a bellhousing's: no two nearer than 30 mm."""
    rng = np.random.default_rng(seed)
    clock = 2 * np.pi * (np.arange(count) + rng.uniform(-0.25, 0.25, count)) / count
    radius = rng.uniform(135, 185, count)
    return np.column_stack([radius * np.sin(clock), radius * np.cos(clock)])


@pytest.fixture(scope="session")
def bench() -> type[Bench]:
    return Bench


@pytest.fixture(scope="session")
def bell() -> object:
    return uneven
