"""The bay that a job file measured by tape, as an envelope."""

from collections.abc import Sequence

from baywright.bay.envelope import Bay, Opening, Upright, cuboid, opening, upright
from baywright.job import bays
from baywright.job.units import Measured

_SOURCE = "the job's clearance; 10 mm unless said otherwise, a finger's width: common practice, no source"


def bay_of(name: str, asked: bays.Bay) -> Bay:
    """Return the envelope of a bay of the job; its opening lies at the height of its highest part.

    Raises:
        ValueError: if a plan crosses itself or encloses nothing.
    """
    several = len(asked.blocks) + len(asked.prisms) > 1
    spaces = [
        _block(f"block {number}" if several else "bay", block.low, block.high)
        for number, block in enumerate(asked.blocks, 1)
    ]
    spaces += [_prism(f"prism {number}" if several else "bay", prism) for number, prism in enumerate(asked.prisms, 1)]
    return Bay(
        name=name,
        spaces=tuple(spaces),
        keep_outs=tuple(_block(thing.name, thing.low, thing.high) for thing in asked.keep_outs),
        opening=None if asked.opening is None else _opening(asked.opening, max(s.high for s in spaces)),
        clearance=asked.clearance,
        source=_SOURCE,
    )


def _block(name: str, low: Sequence[Measured], high: Sequence[Measured]) -> Upright:
    return cuboid(
        name,
        [c.value for c in low],
        [c.value for c in high],
        low_slack=[c.tolerance for c in low],
        high_slack=[c.tolerance for c in high],
    )


def _prism(name: str, prism: bays.Prism) -> Upright:
    corners = [(x.value, y.value) for x, y in prism.plan]
    return upright(
        name,
        corners,
        prism.low.value,
        prism.high.value,
        slack=_slack(prism.plan),
        low_slack=prism.low.tolerance,
        high_slack=prism.high.tolerance,
    )


def _opening(asked: bays.Opening, height: float) -> Opening:
    if asked.plan is not None:
        return opening([(x.value, y.value) for x, y in asked.plan], height, slack=_slack(asked.plan))
    assert asked.low is not None
    assert asked.high is not None
    (x0, y0), (x1, y1) = asked.low, asked.high
    return opening(
        [(x0.value, y0.value), (x1.value, y0.value), (x1.value, y1.value), (x0.value, y1.value)],
        height,
        slack=(y0.tolerance, x1.tolerance, y1.tolerance, x0.tolerance),
        sides=[f"opening, {side}" for side in ("left side", "rear end", "right side", "front end")],
    )


def _slack(plan: Sequence[tuple[Measured, Measured]]) -> list[float]:
    """Return how far each side may shift square to itself when both its corners are off by their tolerances, mm."""
    found = []
    for (x0, y0), (x1, y1) in zip(plan, [*plan[1:], plan[0]], strict=True):
        dx, dy = x1.value - x0.value, y1.value - y0.value
        length = (dx * dx + dy * dy) ** 0.5 or 1.0
        found.append(max(abs(dy) * x.tolerance + abs(dx) * y.tolerance for x, y in ((x0, y0), (x1, y1))) / length)
    return found
