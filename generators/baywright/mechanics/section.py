"""What a stock section does under bending, shear and torsion: areas, moments, torsion constants, stresses."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright.piece.extrusion import Stock

# Terms of the torsion series of a rectangle: the fifth power makes the rest vanish.
_ODD = np.arange(1, 60, 2)


@dataclass(frozen=True, eq=False, kw_only=True)
class SectionProperties:
    """A section's properties; x and y as in its own frame (`Stock.profile`), moments about its centroid.

    Attributes:
        area: mm².
        centroid: (2,) mm.
        shear_centre: (2,) mm: a force through it does not twist the section.
        ix: ∫y² dA about the centroid, mm⁴.
        iy: ∫x² dA about the centroid, mm⁴.
        ixy: ∫xy dA about the centroid, mm⁴.
        torsion: torsion constant J, mm⁴: twist per mm = torque / (G J).
        torsion_modulus: torque / largest shear stress, mm³.
        shear_x: force along x / largest shear stress, mm².
        shear_y: force along y / largest shear stress, mm².
        corners: (n, 2) mm: the farthest fibres, measured from the centroid.
        round: radius of a round section, mm; 0 for others.
    """

    area: float
    centroid: NDArray[np.float64]
    shear_centre: NDArray[np.float64]
    ix: float
    iy: float
    ixy: float
    torsion: float
    torsion_modulus: float
    shear_x: float
    shear_y: float
    corners: NDArray[np.float64]
    round: float = 0.0

    def principal(self) -> tuple[float, float, float]:
        """Return the larger and the smaller principal second moment (mm⁴), and where the larger's axis lies.

        The axis' angle is in degrees from x toward y.
        """
        middle, half = (self.ix + self.iy) / 2, math.hypot((self.ix - self.iy) / 2, self.ixy)
        return middle + half, middle - half, math.degrees(math.atan2(-2 * self.ixy, self.ix - self.iy)) / 2

    def bending_stress(self, mx: NDArray[np.float64], my: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the largest bending stress (MPa, its size) under moments about x and y (any shape, N·mm).

        Bending askew to the principal axes included: the stress is the plane a x + b y whose moments are those given.
        """
        mx, my = np.asarray(mx, dtype=float), np.asarray(my, dtype=float)
        if self.round:
            return np.asarray(np.hypot(mx, my) * self.round / self.ix)
        det = self.ix * self.iy - self.ixy**2
        a = (-my * self.ix - mx * self.ixy) / det
        b = (mx * self.iy + my * self.ixy) / det
        stress = a[..., None] * self.corners[:, 0] + b[..., None] * self.corners[:, 1]
        return np.asarray(np.abs(stress).max(axis=-1))


def equivalent_stress(direct: NDArray[np.float64], shear: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the equivalent stress √(σ² + 3 τ²), von Mises, of direct and shear stress at a point (any shape, MPa)."""
    return np.asarray(np.sqrt(np.asarray(direct) ** 2 + 3 * np.asarray(shear) ** 2))


def section_properties(stock: Stock) -> SectionProperties:
    """Return the properties of a stock section, corners sharp.

    Area and second moments are exact. Torsion: closed tubes after Bredt (from memory; a little low: 2 % for
    100 x 50 x 3), bars by the series of Saint-Venant, open sections as thin strips (from memory: Roark, tables for
    torsion). Shear stress after Jourawski, V Q / (I b), at its largest.
    """
    area, sx, sy, sxx, syy, sxy = stock.profile.moments().tolist()
    cx, cy = sx / area, sy / area
    ix, iy, ixy = syy - area * cy * cy, sxx - area * cx * cx, sxy - area * cx * cy
    torsion, modulus = _torsion(stock)
    round_ = stock.width / 2 if stock.shape in ("round tube", "rod") else 0.0
    corners = stock.profile.outer[:, :2] - (cx, cy)
    if round_:
        inner = round_ - stock.wall if stock.shape == "round tube" else 0.0
        # Solid 4/3 V/A, a thin tube 2 V/A (from memory: any handbook).
        peak = 4 / 3 * (round_**2 + round_ * inner + inner**2) / (round_**2 + inner**2)
        shear_x = shear_y = area / peak
    else:
        rows = np.array(stock.rectangles())
        shear_y = _shear_area(rows, ix, cy)
        shear_x = _shear_area(rows[:, [1, 0, 3, 2]], iy, cx)
    return SectionProperties(
        area=area,
        centroid=np.array([cx, cy]),
        shear_centre=_shear_centre(stock, np.array([cx, cy]), ix),
        ix=ix,
        iy=iy,
        ixy=ixy,
        torsion=torsion,
        torsion_modulus=modulus,
        shear_x=shear_x,
        shear_y=shear_y,
        corners=corners,
        round=round_,
    )


def rectangle_torsion(wide: float, thick: float) -> tuple[float, float]:
    """Return torsion constant (mm⁴) and torsion modulus (mm³) of a solid rectangle, by the series of Saint-Venant.

    Source: Timoshenko and Goodier, Theory of Elasticity, torsion of rectangular bars (from memory).
    """
    a, b = max(wide, thick), min(wide, thick)
    # tanh and cosh of large numbers: clipped where they no longer change the sum.
    ratio = np.minimum(_ODD * math.pi * a / (2 * b), 300.0)
    constant = a * b**3 / 3 * (1 - 192 / math.pi**5 * b / a * float((np.tanh(ratio) / _ODD**5).sum()))
    peak = b * (1 - 8 / math.pi**2 * float((1 / (_ODD**2 * np.cosh(ratio))).sum()))
    return constant, constant / peak


def _torsion(stock: Stock) -> tuple[float, float]:
    w, h, t = stock.width, stock.height, stock.wall
    if stock.shape == "tube":
        inside = (w - t) * (h - t)
        return 4 * inside**2 * t / (2 * (w + h - 2 * t)), 2 * inside * t
    if stock.shape in ("angle", "channel"):
        strips = w - t / 2 + h - t / 2 if stock.shape == "angle" else h - t + 2 * (w - t / 2)
        return strips * t**3 / 3, strips * t**2 / 3
    if stock.shape == "bar":
        return rectangle_torsion(w, h)
    inner = w - 2 * t if stock.shape == "round tube" else 0.0
    constant = math.pi / 32 * (w**4 - inner**4)
    return constant, constant / (w / 2)


def _shear_centre(stock: Stock, centroid: NDArray[np.float64], ix: float) -> NDArray[np.float64]:
    """Return the shear centre (2,) mm, thin walls: on a channel's far side of its web, in the heel of an angle."""
    w, h, t = stock.width, stock.height, stock.wall
    if stock.shape == "angle":
        return np.array([t / 2, t / 2])
    if stock.shape == "channel":
        return np.array([t / 2 - (w - t / 2) ** 2 * (h - t) ** 2 * t / (4 * ix), h / 2])
    return centroid


def _shear_area(rows: NDArray[np.float64], second_moment: float, centre: float) -> float:
    """Return V / τ_max in mm² for a force along y over rectangles (n, 4) x0, y0, x1, y1.

    Q (the moment of what lies above a level) is quadratic between two levels and greatest at the centroid, so that only
    the rectangles' own edges and the centroid can be the worst.
    """
    wide, low, high = rows[:, 2] - rows[:, 0], rows[:, 1] - centre, rows[:, 3] - centre
    worst = 0.0
    for level in sorted({*low.tolist(), *high.tolist(), 0.0}):
        above = np.maximum(high - np.maximum(low, level), 0.0)
        q = float((wide * above * (high + np.maximum(low, level)) / 2).sum())
        for side in (-1e-9, 1e-9):  # at an edge the width jumps: the narrow side has the higher stress
            width = float(wide[(low < level + side) & (high > level + side)].sum())
            if width > 0:
                worst = max(worst, q / width)
    return second_moment / worst
