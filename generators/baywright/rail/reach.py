"""How a bar reaches a mount: a foot that turns with its bolt, or a saddle that lies flat."""

import numpy as np
from numpy.typing import NDArray

from baywright.rail.bars import Bar
from baywright.rail.build import Build
from baywright.rail.design import Hanger, Joint
from baywright.rail.hang import hang
from baywright.rail.place import Mount
from baywright.rail.reasons import Reasons
from baywright.rail.saddle import lies_flat, saddle

Array = NDArray[np.float64]


def reach(build: Build, bar: Bar, mount: Mount, forces: Array, reasons: Reasons) -> tuple[Hanger, list[Joint]] | None:
    """Add a hanger from a bar to a mount; return it and its joints, or None with the reasons.

    A saddle has the fewest parts and comes first where the mount is square to the bar; a foot turns with a leaning one.

    Args:
        build: where it goes.
        bar: the rail or crossbar.
        mount: the mount.
        forces: (cases, 3) N that the mount puts on its foot, load factor in.
        reasons: takes what stood in the way.
    """
    ways = (saddle, hang) if lies_flat(bar, mount) else (hang, saddle)
    for way in ways:
        found = way(build, bar, mount, forces, reasons)
        if found is not None:
            return found
    return None
