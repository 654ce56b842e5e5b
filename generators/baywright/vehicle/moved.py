"""What moved between two balances of a car: a revision against the one before, or a plan against the scales."""

from collections.abc import Iterator
from dataclasses import dataclass

from baywright.vehicle.balance import Balance
from baywright.vehicle.car import Item

# Changes smaller than this are rounding, in the quantity's own unit.
_NOTHING = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """A quantity that changed: its name, unit, old and new value (None where not known)."""

    name: str
    unit: str
    old: float | None
    new: float | None

    @property
    def change(self) -> float | None:
        """New less old; None where either is not known."""
        return None if self.old is None or self.new is None else self.new - self.old


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """Something that is new, gone, or changed.

    Attributes:
        name: what it is.
        what: "new", "gone", "heavier", "lighter" or "moved".
        mass: change of mass in the car, kg; what comes out counts negative.
        by: how far it moved along X, Y and Z, mm; None where not known.
        share: what the change does to the load on the front axle, kg.
    """

    name: str
    what: str
    mass: float
    by: tuple[float | None, float | None, float | None]
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What moved: the car's own quantities, then the things behind them, the heaviest effect first."""

    shifts: tuple[Shift, ...]
    things: tuple[Thing, ...]

    @property
    def anything(self) -> bool:
        """Whether anything changed by more than rounding."""
        return bool(self.things) or any(abs(s.change or 0.0) > _NOTHING for s in self.shifts)


def what_moved(before: Balance, after: Balance) -> Moved:
    """Return what changed from one balance of a car to another.

    Args:
        before: the balance as it was.
        after: the balance as it is.
    """
    things = [
        *_things(before.removed, after.removed, -1, after.wheelbase),
        *_things(before.added, after.added, 1, after.wheelbase),
    ]
    return Moved(shifts=tuple(_shifts(before, after)), things=tuple(sorted(things, key=lambda t: -abs(t.share))))


def _shifts(before: Balance, after: Balance) -> Iterator[Shift]:
    a, b = before.after, after.after
    rows = (
        ("mass", "kg", a.mass, b.mass),
        ("front axle", "kg", a.front, b.front),
        ("rear axle", "kg", a.rear, b.rear),
        ("front share", "%", a.front_share, b.front_share),
        ("change of front share by the conversion", "points of %", before.share_change, after.share_change),
        ("left share", "%", a.left_share, b.left_share),
        ("cross weight", "%", a.cross, b.cross),
        ("centroid behind front axle", "mm", a.x, b.x),
        ("centroid right of middle", "mm", a.y, b.y),
        ("centroid above ground", "mm", a.z, b.z),
    )
    for name, unit, old, new in rows:
        yield Shift(name=name, unit=unit, old=old, new=new)
    for wheel in ("front_left", "front_right", "rear_left", "rear_right"):
        was, now = (None if c is None else float(getattr(c, wheel)) for c in (a.corners, b.corners))
        yield Shift(name=f"{wheel.replace('_', ' ')} wheel", unit="kg", old=was, new=now)
    for axis in ("roll", "pitch", "yaw"):
        was, now = (None if w.inertia is None else float(getattr(w.inertia, axis)) for w in (before, after))
        yield Shift(name=f"{axis} inertia added", unit="kg·m²", old=was, new=now)
    spare = _to_spare(before)
    for check, room in _to_spare(after).items():
        if check in spare:
            yield Shift(name=f"to spare, {check}", unit="kg", old=spare[check], new=room)


def _to_spare(whole: Balance) -> dict[str, float]:
    """Return what is left to each limit in kg, by the check's name; how the scales scattered is no load."""
    return {
        f.check: f.limit - f.value
        for f in whole.findings
        if f.unit == "kg"
        and not f.check.startswith("weigh")
        and f.margin is not None
        and f.limit is not None
        and f.value is not None
    }


def _things(old: tuple[Item, ...], new: tuple[Item, ...], sign: int, wheelbase: float) -> Iterator[Thing]:
    """Yield the differences of two lists of items; equal names are paired in their order."""
    left = list(old)
    for item in new:
        match = next((i for i in left if i.name == item.name), None)
        if match is None:
            yield _thing(item, "new", sign * item.mass, (None, None, None), sign * _front(item, wheelbase))
            continue
        left.remove(match)
        by = (item.x - match.x, _difference(item.y, match.y), _difference(item.z, match.z))
        mass = item.mass - match.mass
        moved = any(d is not None and abs(d) > _NOTHING for d in by)
        if abs(mass) <= _NOTHING and not moved:
            continue
        what = "moved" if abs(mass) <= _NOTHING else "heavier" if mass > 0 else "lighter"
        share = sign * (_front(item, wheelbase) - _front(match, wheelbase))
        yield _thing(item, what, sign * mass, by, share)
    for item in left:
        yield _thing(item, "gone", -sign * item.mass, (None, None, None), -sign * _front(item, wheelbase))


def _thing(
    item: Item, what: str, mass: float, by: tuple[float | None, float | None, float | None], share: float
) -> Thing:
    return Thing(name=item.name, what=what, mass=mass, by=by, share=share)


def _front(item: Item, wheelbase: float) -> float:
    return item.mass * (1 - item.x / wheelbase)


def _difference(new: float | None, old: float | None) -> float | None:
    return None if new is None or old is None else new - old
