"""A scan in the car: read, in mm, laid into the vehicle's frame, cropped, thinned, with what it can be trusted to."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from baywright.bay.align import Alignment, aligned, suspect
from baywright.bay.scan_file import read_mesh
from baywright.bay.skin import Skin, of_points
from baywright.finding import Finding
from baywright.job.messages import BadInput, Problem, shown
from baywright.job.scans import Reference, ScanAsk, read_scan_file
from baywright.job.units import factor

# What a scan of a bay may measure over all, mm: from a glove box to a whole car.
_LEAST, _MOST = 150.0, 12_000.0
# What it usually measures: between these a unit may be guessed.
_USUAL = (500.0, 6_000.0)
_GUESSED = ("mm", "m", "in", "cm", "ft")


@dataclass(frozen=True, eq=False, kw_only=True)
class Scan:
    """A scan, ready to hold boxes against.

    Attributes:
        path: its own file.
        skin: in the vehicle's frame, mm; its `trust` is accuracy, alignment and merging together.
        read: triangles or points in the file.
        cloud: whether it is points only.
        units: the file's unit of length.
        guessed: whether that was guessed.
        alignment: how it was laid into the car; None if it came in the vehicle's frame.
        merged: how far merging moved any point, mm.
        findings: what a person should know.
    """

    path: Path
    skin: Skin
    read: int
    cloud: bool
    units: str
    guessed: bool
    alignment: Alignment | None
    merged: float
    findings: tuple[Finding, ...]


def read_scan(path: Path) -> Scan:
    """Return the scan that a scan's own TOML file describes.

    Raises:
        BadInput: with a sentence, if the description or the scan's file can't be used.
    """
    asked, mesh = read_scan_file(path)

    def unfit(key: str, message: str) -> BadInput:
        return BadInput([Problem(shown(path), None, key, message)])

    vertices, faces, lost = read_mesh(mesh)
    read = len(vertices) if faces is None else len(faces)
    findings: list[Finding] = []
    if lost:
        findings.append(_found("look", "whole", f"{lost:,} of {read + lost:,} parts are not numbers: left out"))
    extent = float(np.ptp(vertices, axis=0).max())
    try:
        units, guessed = _units(asked, extent)
    except ValueError as why:
        raise unfit("units", str(why)) from None
    scale = factor(units, "length")
    if not _LEAST <= extent * scale <= _MOST:
        raise unfit(
            "units",
            f"in {units} the scan would be {extent * scale:,.0f} mm long, no bay of a car: give its right units, or "
            "cut away what is no part of the bay",
        )
    if guessed:
        findings.append(
            _found("look", "units", f"not stated: taken as {units}, which makes it {extent * scale:,.0f} mm long; "
                   f'write units = "{units}" if that is so')
        )  # fmt: skip
    if len(asked.points) >= 3:
        findings.append(_lengths(asked.points, scale))
    vertices = vertices * scale
    alignment = None
    if asked.points:
        try:
            alignment = aligned(asked.points, scale, asked.accuracy)
        except ValueError as why:
            raise unfit("points", str(why)) from None
        findings.append(_alignment_finding(asked, alignment, scale))
        vertices = alignment.pose(vertices)
    else:
        findings.append(
            _found("look", "alignment", "no reference points: taken to be in the vehicle's frame already; give three")
        )
    skin = of_points(vertices) if faces is None else Skin(vertices, faces)
    if asked.crop is not None:
        skin = skin.cropped(np.array(asked.crop.low), np.array(asked.crop.high))
        if not len(skin):
            raise unfit("crop", "leaves nothing of the scan: check crop, units and points")
    skin, merged = thinned(skin, asked.merge)
    low, high = skin.bounds
    corners = [np.where([i & 1, i >> 1 & 1, i >> 2 & 1], high, low) for i in range(8)]
    misplaced = 0.0 if alignment is None else max(alignment.error(c) for c in corners)
    # Scanner and alignment are off independently of each other; what merging moves is known and always there.
    trust = float(np.hypot(asked.accuracy, misplaced)) + merged
    message = f"{trust:.1f} mm is taken off every clearance: scanner ±{asked.accuracy:g}"
    message += f", alignment ±{misplaced:.1f}" if alignment is not None else ""
    message += f", merging {merged:.1f}" if merged else ""
    findings.append(_found("pass" if trust <= 10.0 else "look", "trust", message, value=trust, unit="mm"))
    return Scan(
        path=path,
        skin=Skin(skin.vertices, skin.faces, trust, f"scan '{path.stem}'"),
        read=read,
        cloud=faces is None,
        units=units,
        guessed=guessed,
        alignment=alignment,
        merged=merged,
        findings=tuple(findings),
    )


def thinned(skin: Skin, merge: float) -> tuple[Skin, float]:
    """Return a skin whose points within cells of `merge` mm became one, and how far any point moved for it, mm.

    No part of the new skin is farther from the old one than that, nor the other way round: every place on a triangle
    moves by a mean of what its corners move.
    """
    if merge <= 0:
        return skin, 0.0
    place = np.floor((skin.vertices - skin.vertices.min(axis=0)) / merge).astype(np.int64)
    size = place.max(axis=0) + 1
    key = (place[:, 0] * size[1] + place[:, 1]) * size[2] + place[:, 2]
    _, group, count = np.unique(key, return_inverse=True, return_counts=True)
    group = group.ravel()
    vertices = np.column_stack([np.bincount(group, skin.vertices[:, k]) for k in range(3)]) / count[:, None]
    moved = float(np.linalg.norm(vertices[group] - skin.vertices, axis=1).max())
    faces = group[skin.faces]
    if (skin.faces[:, 0] == skin.faces[:, 1]).all():  # a cloud
        return of_points(vertices), moved
    # What shrank to a line or a point is kept where no whole triangle has that edge or corner: it may be all that is
    # left of something thin.
    _, first = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)
    kept = faces[np.sort(first)]
    whole = (kept[:, 0] != kept[:, 1]) & (kept[:, 1] != kept[:, 2]) & (kept[:, 0] != kept[:, 2])
    edges = np.unique(_edge_keys(kept[whole][:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), len(vertices)))
    held = np.zeros(len(vertices), dtype=bool)
    held[kept[whole].ravel()] = True
    ends = np.column_stack([kept.min(axis=1), kept.max(axis=1)])
    point = ends[:, 0] == ends[:, 1]
    thin = ~whole & np.where(point, ~held[ends[:, 0]], ~np.isin(_edge_keys(ends, len(vertices)), edges))
    return Skin(vertices, kept[whole | thin]), moved


def _edge_keys(ends: NDArray[np.int64], count: int) -> NDArray[np.int64]:
    """Return one number for each edge (n, 2) between points numbered below `count`, whichever way round."""
    key: NDArray[np.int64] = ends.min(axis=1) * count + ends.max(axis=1)
    return key


def _units(asked: ScanAsk, extent: float) -> tuple[str, bool]:
    """Return the unit of the scan's file and whether it is a guess.

    Raises:
        ValueError: if none, or more than one, makes it as large as a bay.
    """
    if not np.isfinite(extent) or extent <= 0:
        raise ValueError("all points of the scan are one")
    if asked.units is not None:
        return asked.units, False
    if len(asked.points) >= 3:  # the distances between points tell the unit
        ratio = _ratio(asked.points)
        near = [u for u in _GUESSED if abs(ratio / factor(u, "length") - 1) < 0.02]
        if len(near) == 1:
            return near[0], True
    fits = [u for u in _GUESSED if _USUAL[0] <= extent * factor(u, "length") <= _USUAL[1]]
    if len(fits) == 1:
        return fits[0], True
    sizes = ", ".join(f"{extent * factor(u, 'length'):,.0f} mm if in {u}" for u in (fits or _GUESSED))
    raise ValueError(f'the file does not say its unit and its size does not tell: {sizes}; write units = "mm" or such')


def _ratio(points: list[Reference]) -> float:
    """Return mm on the car for one unit in the scan, from all distances between reference points."""
    inside = np.array([p.scan for p in points], dtype=float)
    taped = np.array([[c.value for c in p.car] for p in points])
    i, j = np.triu_indices(len(points), 1)
    a, b = np.linalg.norm(inside[i] - inside[j], axis=1), np.linalg.norm(taped[i] - taped[j], axis=1)
    return float((a @ b) / max(float(a @ a), 1e-300))


def _lengths(points: list[Reference], scale: float) -> Finding:
    ratio = _ratio(points) / scale
    off = 100 * (ratio - 1)
    message = f"distances between points are {abs(off):.2f} % {'longer' if off > 0 else 'shorter'} by tape than by scan"
    if abs(off) > 1.0:
        message += ": the scanner or the units are off"
    return _found("pass" if abs(off) <= 1.0 else "look", "scale", message, value=ratio, limit=1.01)


def _alignment_finding(asked: ScanAsk, alignment: Alignment, scale: float) -> Finding:
    off = alignment.off
    rms, worst = float(np.sqrt((off**2).mean())), int(off.argmax())
    limit = max(5.0, 3 * asked.accuracy)
    message = f"{len(off)} points fit within {rms:.1f} mm rms; '{alignment.names[worst]}' is off by {off[worst]:.1f} mm"
    odd = suspect(asked.points, scale, asked.accuracy)
    if odd is not None and rms > asked.accuracy:
        message += f"; without '{odd[0]}' the others fit within {odd[2]:.1f} mm: measure that one again"
    return _found(
        "pass" if rms <= limit else "look",
        "alignment",
        message,
        value=rms,
        limit=limit,
        unit="mm",
        source="three times the scanner's accuracy, at least 5 mm: the shop's own choice",
        where=(alignment.names[worst],),
    )


def _found(verdict: str, check: str, message: str, **more: object) -> Finding:
    return Finding(subject="scan", check=check, verdict=verdict, message=message, **more)  # type: ignore[arg-type]
