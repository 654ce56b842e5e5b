"""What moves in a bay, as the space it sweeps: a driveshaft at bump and droop, steering at lock, a motor's roll."""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from baywright.bay.skin import Skin, ring_about
from baywright.job.scans import Moving
from baywright.shape.pose import turned

Array = NDArray[np.float64]

BULGE = 0.5  # mm: how far a turning corner may leave the straight way between two positions; goes into the skin's trust
_AXES = {"x": 0, "y": 1, "z": 2}


def swept(thing: Moving) -> Skin:
    """Return the skin of all that a thing passes, vehicle frame; its trust holds how far an arc bulges beyond it.

    The sweep is the union of the hulls of each two positions that follow each other.
    """
    import manifold3d

    rest = _at_rest(thing)
    steps, bulge = _positions(thing, rest)
    hulls = [manifold3d.Manifold.hull_points(np.concatenate([a, b])) for a, b in pairwise(steps)]
    raw = manifold3d.Manifold.batch_boolean(hulls, manifold3d.OpType.Add).to_mesh64()
    return Skin(
        np.asarray(raw.vert_properties)[:, :3].astype(float),
        np.asarray(raw.tri_verts).astype(np.int64),
        bulge,
        f"{thing.name}, moving",
    )


def _at_rest(thing: Moving) -> Array:
    """Return the corners (n, 3) mm of a thing at rest; a rod's are outside it, by half a percent of its diameter."""
    if thing.rod is None:
        assert thing.low is not None
        assert thing.high is not None
        low, high = np.array(thing.low), np.array(thing.high)
        return np.array([np.where([i & 1, i >> 1 & 1, i >> 2 & 1], high, low) for i in range(8)])
    a, b = (np.array(e) for e in thing.rod.ends)
    ring = ring_about(np.zeros(3), (b - a) / np.linalg.norm(b - a), thing.rod.diameter / 2)
    return np.concatenate([a + ring, b + ring])


def _positions(thing: Moving, rest: Array) -> tuple[list[Array], float]:
    """Return the thing's corners at each position, and how far an arc leaves the straight way between two, mm."""
    if thing.turn is None:
        ends = [np.zeros(3), *(np.array(s) for s in thing.shift)]
        if len(ends) == 3:
            ends = [ends[1], ends[0], ends[2]]
        return [rest + e for e in ends], 0.0
    turn = thing.turn
    about = np.array(turn.about)
    across = [k for k in range(3) if k != _AXES[turn.axis]]
    arm = float(np.linalg.norm((rest - about)[:, across], axis=1).max())
    # An arc of radius r over an angle d bulges r (1 - cos d/2) beyond its chord.
    most = 2 * np.degrees(np.arccos(max(1 - BULGE / max(arm, BULGE), -1.0)))
    count = max(int(np.ceil((turn.most - turn.least) / most)), 1)
    angles = np.linspace(turn.least, turn.most, count + 1)
    bulge = arm * (1 - np.cos(np.radians((turn.most - turn.least) / count / 2)))
    return [turned(turn.axis, float(a))(rest - about) + about for a in angles], float(bulge)
