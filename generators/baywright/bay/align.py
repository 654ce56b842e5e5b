"""Where in the car a scan is: reference points found both in the scan and by the tape, laid on each other."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.job.scans import Reference
from baywright.shape.align import rigid_fit
from baywright.shape.pose import Pose

Array = NDArray[np.float64]

IN_95 = 1.96  # spreads that hold 95 % of a normal distribution
# Points must reach this far across the line they lie nearest to, mm, or a turn about it is not held.
_ACROSS = 50.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Alignment:
    """How a scan was laid into the vehicle's frame.

    Attributes:
        pose: from the scan (mm) to the vehicle's frame.
        names: the points.
        residuals: (n, 3) mm: where the scan puts each point, less where the tape puts it.
        spread: mm: the spread of a point on one axis, from the residuals or from what tape and scanner promise,
            whichever is larger.
        normal: (6, 6) what holds shift and turn, about `centre`.
        centre: (3,) mm.
    """

    pose: Pose
    names: tuple[str, ...]
    residuals: Array
    spread: float
    normal: Array
    centre: Array

    @property
    def off(self) -> Array:
        """How far each point is off, (n,) mm."""
        found: Array = np.linalg.norm(self.residuals, axis=1)
        return found

    def error(self, at: Array) -> float:
        """Return how far (mm, 19 times in 20, the worst direction) the alignment may put a place (3,) wrong."""
        x, y, z = (at - self.centre).tolist()
        move = np.hstack([np.eye(3), np.array([[0, z, -y], [-z, 0, x], [y, -x, 0]])])
        cover = move @ np.linalg.solve(self.normal, move.T)
        return float(IN_95 * self.spread * np.sqrt(np.linalg.eigvalsh(cover).max()))


def aligned(points: list[Reference], scale: float, accuracy: float) -> Alignment:
    """Return the alignment of a scan by its reference points, by least squares (Kabsch 1976).

    Args:
        points: at least three, not on one line.
        scale: mm a unit of the scan's file.
        accuracy: of the scanner, ± mm.

    Raises:
        ValueError: with a sentence, if the points do not hold the scan or only a mirror image fits.
    """
    inside = np.array([p.scan for p in points], dtype=float) * scale
    taped = np.array([[c.value for c in p.car] for p in points])
    slack = np.array([[c.tolerance for c in p.car] for p in points])
    for what, spots in (("scan", inside), ("car", taped)):
        across = np.linalg.svd(spots - spots.mean(axis=0), compute_uv=False)[1] / np.sqrt(len(points))
        if across < _ACROSS / np.sqrt(3):
            raise ValueError(
                f"the points lie nearly on one line ({what}): a turn about it is not held; add one well beside it"
            )
    turn, shift = rigid_fit(inside, taped)
    residuals = inside @ turn.T + shift - taped
    rms = float(np.sqrt((residuals**2).sum() / len(points)))
    flip, move = rigid_fit(inside, taped, mirror=True)
    mirrored = float(np.sqrt(((inside @ flip.T + move - taped) ** 2).sum() / len(points)))
    flat = np.linalg.svd(inside - inside.mean(axis=0), compute_uv=False)[2] < 10.0  # a plane is its own mirror image
    if rms > 10.0 and mirrored < rms / 5 and not flat:
        raise ValueError(
            f"the scan fits its points only as a mirror image (off by {rms:.0f} mm, mirrored by {mirrored:.0f} mm): "
            "two points are swapped, or the file was exported left-handed"
        )
    free = max(3 * len(points) - 6, 1)
    seen = float(np.sqrt((residuals**2).sum() / free))
    # A tolerance of ± t, any value in it alike, has the spread t / √3.
    promised = float(np.sqrt((slack**2).mean() / 3 + accuracy**2 / 3))
    centre = taped.mean(axis=0)
    normal = np.zeros((6, 6))
    for x, y, z in (taped - centre).tolist():
        rows = np.hstack([np.eye(3), np.array([[0, z, -y], [-z, 0, x], [y, -x, 0]])])
        normal += rows.T @ rows
    return Alignment(
        pose=Pose(turn, shift),
        names=tuple(p.name for p in points),
        residuals=residuals,
        spread=max(seen, promised),
        normal=normal,
        centre=centre,
    )


def suspect(points: list[Reference], scale: float, accuracy: float) -> tuple[str, float, float] | None:
    """Return the point without which the others fit far better: its name, rms with and without it (mm); else None."""
    if len(points) < 4:
        return None
    whole = aligned(points, scale, accuracy)
    rms = float(np.sqrt((whole.off**2).mean()))
    best: tuple[str, float, float] | None = None
    for i, point in enumerate(points):
        try:
            rest = aligned([p for j, p in enumerate(points) if j != i], scale, accuracy)
        except ValueError:
            continue
        without = float(np.sqrt((rest.off**2).mean()))
        if without < rms / 3 and (best is None or without < best[2]):
            best = (point.name, rms, without)
    return best
