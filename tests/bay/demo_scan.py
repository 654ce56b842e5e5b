"""Make the demo's scanned engine bay: an invented car's inner skin, with the noise, holes and size of a real scan.

Run `python tests/bay/demo_scan.py` to write shared/scans/estate-engine.ply.gz again. Everything about it is invented.
"""

import gzip
import io
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
TARGET = Path(__file__).resolve().parents[2] / "shared" / "scans" / "estate-engine.ply.gz"

STEP = 16.0  # mm between the points of a face
NOISE = 1.0  # mm, spread
# From the car's frame (X rearward, Y right, Z up) to the scanner's: turned and shifted as such a device leaves it.
TURN = np.radians([4.0, -3.0, 137.0])
SHIFT = np.array([812.0, -340.0, 155.0])
# Marks stuck on before scanning, car frame, mm: centre of each.
MARKS = {
    "left strut top": (-20.0, -441.0, 760.0),
    "right strut top": (-20.0, 441.0, 760.0),
    "slam panel middle": (-232.0, 0.0, 810.0),
    "bulkhead seam, left": (331.0, -250.0, 700.0),
    "bulkhead seam, right": (331.0, 250.0, 655.0),
}


def turn() -> Array:
    """Return the rotation (3, 3) from the car's frame to the scanner's."""
    (a, b, c), (d, e, f) = np.cos(TURN), np.sin(TURN)
    x = np.array([[1, 0, 0], [0, a, -d], [0, d, a]])
    y = np.array([[b, 0, e], [0, 1, 0], [-e, 0, b]])
    z = np.array([[c, -f, 0], [f, c, 0], [0, 0, 1]])
    return z @ y @ x


def sheet(corner: tuple[float, ...], u: tuple[float, ...], v: tuple[float, ...]) -> tuple[Array, Array]:
    """Return a flat face as a grid of points (n, 3) and triangles (m, 3)."""
    a, b = np.array(u), np.array(v)
    nu, nv = (max(int(np.ceil(np.linalg.norm(w) / STEP)), 1) + 1 for w in (a, b))
    s, t = np.meshgrid(np.linspace(0, 1, nu), np.linspace(0, 1, nv), indexing="ij")
    return np.array(corner) + s[..., None] * a + t[..., None] * b, grid(nu, nv)


def grid(nu: int, nv: int) -> Array:
    """Return the triangles (m, 3) of a grid of nu by nv points."""
    i = np.arange(nu * nv).reshape(nu, nv)
    a, b, c, d = (w.ravel() for w in (i[:-1, :-1], i[1:, :-1], i[1:, 1:], i[:-1, 1:]))
    return np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])


def tube(
    path: list[tuple[float, ...]], radius: float, part: tuple[float, float] = (0.0, 2 * np.pi)
) -> tuple[Array, Array]:
    """Return a round thing along a path of points, or part of its round."""
    line = np.array(path)
    length = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    count = max(int(length[-1] / STEP), 1) + 1
    at = np.column_stack([np.interp(np.linspace(0, length[-1], count), length, line[:, k]) for k in range(3)])
    along = np.gradient(at, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    side = np.eye(3)[np.abs(along).mean(axis=0).argmin()]
    across = np.cross(along, side)
    across /= np.linalg.norm(across, axis=1)[:, None]
    other = np.cross(along, across)
    round_ = max(int(radius * (part[1] - part[0]) / STEP), 8) + 1
    angle = np.linspace(*part, round_)
    ring = np.cos(angle)[None, :, None] * across[:, None] + np.sin(angle)[None, :, None] * other[:, None]
    return at[:, None] + radius * ring, grid(count, round_)


def parts() -> list[tuple[Array, Array]]:
    """Return the skin of the bay in the car's frame."""
    sheets = [
        sheet((-230, -455, 338), (560, 0, 0), (0, 910, 0)),  # undertray and cross member
        sheet((-230, -478, 338), (560, 0, 0), (0, 0, 470)),  # left inner wing
        sheet((-230, 478, 338), (560, 0, 0), (0, 0, 470)),  # right inner wing
        sheet((334, -478, 338), (0, 956, 0), (0, 0, 470)),  # bulkhead
        sheet((-222, -478, 338), (0, 956, 0), (-12, 0, 470)),  # front panel, leaning forward
        sheet((-234, -478, 808), (0, 956, 0), (-60, 0, 6)),  # slam panel
        sheet((-230, -478, 808), (560, 0, 0), (0, -70, 10)),  # wing edges
        sheet((-230, 478, 808), (560, 0, 0), (0, 70, 10)),
        sheet((292, -455, 645), (0, 150, 0), (42, 0, 0)),  # bracket of the brake cylinder
    ]
    for y in (-1, 1):  # strut towers: a round top and a cone-like side that leans inward
        sheets.append(tube([(-20, y * 540, 338), (-20, y * 520, 600), (-20, y * 482, 758)], 62.0))
        sheets.append(sheet((-82, y * 482 - 62, 758), (124, 0, 0), (0, 124, 2)))
    sheets += [
        tube([(330, -372, 430), (275, -400, 390), (215, -470, 352)], 19.0),  # steering column's lower end
        tube([(300, -380, 700), (238, -392, 700)], 27.0),  # brake cylinder
        tube([(322, 190, 352), (322, 210, 520), (325, 260, 760)], 15.0),  # heater hoses
        tube([(322, 240, 352), (322, 258, 520), (325, 305, 760)], 15.0),
        tube([(-205, -410, 360), (-208, 0, 351), (-205, 410, 360)], 9.0),  # brake pipe along the front
    ]
    return sheets


def scan() -> tuple[Array, Array]:
    """Return the scan's points (n, 3) mm in the scanner's frame and its triangles (m, 3)."""
    rng = np.random.default_rng(20)
    points, faces, count = [], [], 0
    for at, triangles in parts():
        at = at.reshape(-1, 3)
        points.append(at)
        faces.append(triangles + count)
        count += len(at)
    at, triangles = np.concatenate(points), np.concatenate(faces)
    at = at + rng.normal(0, NOISE, at.shape)
    middle = at[triangles].mean(axis=1)
    # What a scanner does not see: black hoses' backs, deep corners, shiny spots.
    seen = np.ones(len(triangles), dtype=bool)
    for hole in at[rng.integers(0, len(at), 45)]:
        seen &= np.linalg.norm(middle - hole, axis=1) > rng.uniform(12, 45)
    used, triangles = np.unique(triangles[seen].ravel(), return_inverse=True)
    return at[used] @ turn().T + SHIFT, triangles.reshape(-1, 3)


def content() -> bytes:
    """Return the file: binary PLY, to a sixteenth of a millimetre, packed without a date."""
    at, triangles = scan()
    out = io.BytesIO()
    out.write(
        f"ply\nformat binary_little_endian 1.0\ncomment invented for the demo\nelement vertex {len(at)}\n"
        "property float x\nproperty float y\nproperty float z\n"
        f"element face {len(triangles)}\nproperty list uchar int vertex_indices\nend_header\n".encode()
    )
    out.write((np.round(at * 16) / 16).astype("<f4").tobytes())
    rows = np.zeros(len(triangles), dtype=[("n", "u1"), ("i", "<i4", 3)])
    rows["n"], rows["i"] = 3, triangles
    out.write(rows.tobytes())
    return gzip.compress(out.getvalue(), 9, mtime=0)


def marks() -> dict[str, Array]:
    """Return the marks as read in the scan, mm, to a tenth."""
    rng = np.random.default_rng(21)
    return {name: np.round(turn() @ np.array(at) + SHIFT + rng.normal(0, 0.7, 3), 1) for name, at in MARKS.items()}


if __name__ == "__main__":
    TARGET.write_bytes(content())
    print(TARGET.name, TARGET.stat().st_size, "bytes,", len(scan()[1]), "triangles")
    for name, at in marks().items():
        print(name, at.tolist())
