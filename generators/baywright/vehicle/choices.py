"""What the bays of a job can take: every box laid out, set in its bay and checked, by count, arrangement and place."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from baywright.bay.findings import surround_findings, surround_of
from baywright.bay.fit import check_fit
from baywright.bay.grid import Grid, turned_block, turns
from baywright.bay.outside import CASE, few_blocks, layout_case, outer_bodies
from baywright.bay.place import find_places
from baywright.bay.surround import Surround
from baywright.box.generate import BoxDesign, generate
from baywright.box.kit import Kit
from baywright.box.layout import lay_out
from baywright.finding import CannotBuild
from baywright.job.models import BoxAsk
from baywright.job.read import Job
from baywright.piece.solid import Body
from baywright.shape.pose import turned
from baywright.strength.box import strength_findings
from baywright.vehicle.split import BayChoices, Choice, Three
from baywright.vehicle.write_back import Value

# How many modules a box is tried with at most; the bay ends it sooner.
MOST_IN_A_BOX = 24
_MOST_STACKS = 3  # as many columns and rows as a box may have
_STEP = 20.0  # mm, the grid of the search for places: a split needs to know about where, not to the millimetre
_APART = 40.0  # places nearer together than this are one place, mm

Array = NDArray[np.float64]
Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A box that was tried and does not go in: why."""

    box: str
    place: str
    count: int
    reason: str


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place for a box: its words, `at` in mm and yaw in degrees as a job says them."""

    words: str
    at: Three
    yaw: float


def bodies_of(box: BoxDesign) -> list[tuple[str, Body]]:
    """Return every piece and fastener of a box as (mark, body in the box's frame)."""
    items = [*box.assembly.placed, *box.assembly.fasteners()]
    return [(item.mark, body.moved(item.pose)) for item in items for body in item.piece.bodies()]


def choices_of(
    job: Job,
    most: int = MOST_IN_A_BOX,
    boxes: Sequence[str] | None = None,
    search: bool = True,
    progress: Progress = lambda _text: None,
) -> tuple[list[BayChoices], list[Refused]]:
    """Return what the bay of each box of a job can take, and where each try ended.

    Every box keeps its style, module and fittings. Its modules are stacked in every way they may lie, up to three
    stacks side by side and three end to end, one module more at a time; each such box is tried where the job has it
    and, with `search`, where the bay's search finds room furthest forward and furthest rearward, and must bear the
    job's load cases. Boxes that share a bay stay where they are: what room one leaves depends on the other.

    Args:
        job: the job.
        most: largest count to try.
        boxes: which boxes; all if None.
        search: whether to look for other arrangements and places than the job's own.
        progress: called with what is being tried.

    Raises:
        BadInput: if a name in the job is unknown, or a scan can't be used.
        ValueError: if a bay's outline crosses itself.
    """
    found, refused = [], []
    for name in job.boxes if boxes is None else boxes:
        one = _Box(job, name, most, search)
        choices: list[Choice] = []
        for ask in one.arrangements():
            progress(f"box {name}: {_words(ask)}, one module more until it no longer goes in")
            some, end = one.stack(ask)
            choices += some
            refused += end
        found.append(BayChoices(bay=name, choices=tuple(choices)))
    return found, refused


def _words(ask: BoxAsk) -> str:
    """Return how a box's modules stand, in words."""
    beside = f", {ask.columns} side by side" if ask.columns > 1 else ""
    behind = f", {ask.rows} end to end" if ask.rows > 1 else ""
    return f"{ask.orientation}{beside}{behind}"


class _Box:
    """One box of a job and its bay, asked again and again."""

    def __init__(self, job: Job, name: str, most: int, search: bool) -> None:
        self.job, self.name, self.most = job, name, most
        self.ask = job.boxes[name]
        self.kit = Kit(job.catalogue.style(self.ask.style), job.catalogue)
        self.around: Surround | None = None
        if self.ask.bay is not None:
            self.around = surround_of(self.ask.bay, job.bays[self.ask.bay], job.path.parent)
        alone = sum(box.bay == self.ask.bay for box in job.boxes.values()) == 1
        self.search = search and alone and self.around is not None
        self.grid: Grid | None = self.around.grid(_STEP) if self.search and self.around is not None else None

    def arrangements(self) -> Iterator[BoxAsk]:
        """Yield the ways to stack the modules, the job's own first."""
        yield self.ask
        allowed = self.job.catalogue.module(self.ask.module).orientations
        stacks = range(1, _MOST_STACKS + 1) if self.search else ()
        own = (self.ask.orientation, self.ask.columns, self.ask.rows)
        others = product(allowed, stacks, stacks) if self.search else ((o, own[1], own[2]) for o in allowed)
        for orientation, columns, rows in others:
            if (orientation, columns, rows) != own:
                yield self.ask.model_copy(update={"orientation": orientation, "columns": columns, "rows": rows})

    def stack(self, ask: BoxAsk) -> tuple[list[Choice], list[Refused]]:
        """Return the boxes of one arrangement that go in, and the first that is too low, too weak, and too large.

        A low box may have no room for its fittings: those below the first that can be made are passed over. Above it a
        box only grows, layer by layer, so that the first that does not go in ends the stack.
        """
        found: list[Choice] = []
        low = weak = end = None
        layer = ask.columns * ask.rows
        # Outside, boxes of one number of layers are alike: the fullest of them finds the places of all.
        for fullest in range(layer, self.most + layer, layer):
            top, least = min(fullest, self.most), fullest - layer + 1
            if top < least:
                break
            try:
                full = self._made(ask, top)
            except CannotBuild as no:
                one = self._refused(ask, top, no.sentence)
                if found:
                    end = one
                    break
                low = low or one
                continue
            spots, why = ([], "its case alone is larger than the bay") if full is None else self._spots(full)
            if full is None or not spots:
                end = self._refused(ask, least, why)
                break
            # A box with empty stacks is worth a thought only where the job asks for it.
            for count in range(least if ask is self.ask else max(least, layer), top + 1):
                box = full if count == top else self._made(ask, count)
                fails = "" if box is None else self._too_weak(box)
                if fails:
                    weak = weak or self._refused(ask, count, fails)
                elif box is not None:
                    found += [self._choice(box, spot) for spot in spots]
        refused = [r for r in (low, weak, end) if r is not None]
        return found, refused if found or ask is self.ask else []

    def _made(self, ask: BoxAsk, count: int) -> BoxDesign | None:
        """Return the box with so many modules; None if its case alone is too large for the bay.

        Raises:
            CannotBuild: if it can't be made.
        """
        counted = ask.model_copy(update={"count": count})
        # The job's own arrangement is looked at in full, to say by how much it does not go in.
        if self.grid is not None and ask is not self.ask:
            case = layout_case(lay_out(self.name, counted, self.kit))
            if not any(len(self.grid.fits([turned_block(case, t)], 0.0, below=0.0, sure=False)) for t in _HALF):
                return None
        return generate(self.name, counted, self.job.catalogue)

    def _spots(self, box: BoxDesign) -> tuple[list[_Spot], str]:
        """Return the places where a box goes in, the job's own first, and what keeps it from that one."""
        own = _Spot("", self.ask.at, self.ask.yaw)
        why = self._in_the_way(box, own)
        spots = [] if why else [own]
        if self.search and self.around is not None:
            # Few blocks that hold all bodies, for speed; what is found is then checked as the review does.
            bodies = [(CASE, block) for block in few_blocks(outer_bodies(box, rooms=True))]
            low, high = self.around.region
            middle = float(np.clip(0.0, low[1], high[1]))
            for end in (low[0], high[0]):
                spots += self._near(box, bodies, np.array([end, middle, low[2]]), spots)
        return spots, why

    def _near(
        self, box: BoxDesign, bodies: Sequence[tuple[str, Body]], target: Array, known: Sequence[_Spot]
    ) -> list[_Spot]:
        """Return the place nearest to a target, if there is one that is not known."""
        assert self.around is not None
        result = find_places(
            bodies,
            box.mass_properties.centroid,
            self.around,
            clearance=self.around.bay.clearance,
            rank="near",
            target=target,
            step=_STEP,
            most=1,
            refine=False,
        )
        for place in result.places:
            x, y, z = place.pose.shift.tolist()
            # Up to the next tenth, so that what stands on the floor does not stand in it.
            at = (round(x, 1), round(y, 1), float(np.ceil(10 * z - 1e-6) / 10))
            own = turned("z", self.ask.yaw, self.ask.at)(box.mass_properties.centroid)
            there = turned("z", place.turn[0], at)(box.mass_properties.centroid)
            moved = there - own
            seen = [turned("z", s.yaw, s.at)(box.mass_properties.centroid) for s in known]
            if not place.fits or any(np.linalg.norm(there - s) < _APART for s in seen):
                continue
            way = "rearward" if moved[0] > 0 else "forward"
            spot = _Spot(f", {abs(moved[0]):.0f} mm {way}", at, place.turn[0])
            if not self._in_the_way(box, spot):
                return [spot]
        return []

    def _in_the_way(self, box: BoxDesign, spot: _Spot) -> str:
        """Return what keeps a box from a place, as the review would say it; empty if nothing does."""
        if self.around is None:
            return ""
        pose = turned("z", spot.yaw, spot.at)
        found = list(check_fit(self.name, bodies_of(box), pose, self.around.bay).findings)
        if self.around.scan is not None or self.around.moving:
            found += surround_findings(self.name, box, pose, self.around)
        return next((f"{f.check}: {f.message}" for f in found if f.verdict == "fail"), "")

    def _too_weak(self, box: BoxDesign) -> str:
        """Return what of a box fails under the job's load cases, as the review would say it; empty if nothing does."""
        found = strength_findings(box, self.job.load_cases)
        return next((f"{f.check}: {f.message}" for f in found if f.verdict == "fail"), "")

    def _choice(self, box: BoxDesign, spot: _Spot) -> Choice:
        ask = box.layout.ask
        whole = box.mass_properties.moved(turned("z", spot.yaw, spot.at))
        x, y, z = whole.centroid.tolist()
        roll, pitch, yaw = np.diag(whole.inertia).tolist()
        keys: dict[str, Value] = {
            "count": ask.count,
            "orientation": ask.orientation,
            "columns": ask.columns,
            "rows": ask.rows,
            "at": list(spot.at),
            "yaw": spot.yaw,
        }
        return Choice(
            place=_words(ask) + spot.words,
            count=ask.count,
            mass=whole.mass,
            x=x,
            y=y,
            z=z,
            inertia=(roll, pitch, yaw),
            keys=keys,
        )

    def _refused(self, ask: BoxAsk, count: int, reason: str) -> Refused:
        return Refused(box=self.name, place=_words(ask), count=count, reason=reason)


# A half turn changes nothing for a case.
_HALF = turns(True)[::2]
