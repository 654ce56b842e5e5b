"""One calculated check of a member under one throw, with its working."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from baywright.strength.working import Working

# How a joint may carry alone. Two that carry together are never added.
Alone = Literal["", "bond", "screws", "end screws"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """A member's demand and resistance under one throw of one load case, line by line.

    Attributes:
        member: the member in the trade's words ("bearers", "feet"); findings are gathered by it.
        piece: the mark of the one piece it was reckoned for.
        what: what was checked ("bending", "screws alone, bond ignored").
        case: the load case's name.
        throw: the way and how hard ("20 g forward").
        demand: what is asked, in `unit`.
        resistance: what it can take, in `unit`.
        unit: "N", "MPa", "mm", "Hz".
        use: demand over resistance, 1 = all; where several act together, how much is used together.
        working: every line.
        where: marks of the pieces it is about.
        at: a point (x, y, z) mm in the box's frame.
        joint: names a joint that may be carried by one of several means; "" if this must hold by itself.
        alone: which of the means this is.
        help: what would mend it, in words.
        note: what a person must know beside it.
        advice: whether a use over 1 is something to look at rather than a failure of the box.
    """

    member: str
    piece: str
    what: str
    case: str
    throw: str
    demand: float
    resistance: float
    unit: str
    use: float
    working: Working
    where: tuple[str, ...] = ()
    at: tuple[float, float, float] | None = None
    joint: str = ""
    alone: Alone = ""
    help: str = ""
    note: str = ""
    advice: bool = False


def worst_of_each(done: Iterable[Calculation]) -> list[Calculation]:
    """Return of each kind of check, by member and what was checked, the one that uses most."""
    most: dict[tuple[str, str], Calculation] = {}
    for one in done:
        kind = one.member, one.what
        if kind not in most or one.use > most[kind].use:
            most[kind] = one
    return list(most.values())
