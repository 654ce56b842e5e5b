"""Both ends of a set of rails, to lay beside another car's: the cradle's pattern, and the chassis's mounts and bars."""

import math
from dataclasses import dataclass
from pathlib import Path

from baywright.rail.design import RailDesign
from baywright.release.table import read_table, write_table

CRADLE, MOUNTS, BARS = "cradle.csv", "mounts.csv", "bars-of-rails.csv"
_CRADLE_HEAD = (
    "motor",
    "rail",
    "face",
    "behind the motor's front end mm",
    "out from the shaft mm",
    "above the shaft mm",
    "hole mm",
)
_MOUNTS_HEAD = ("mount", "X mm", "Y mm", "Z mm", "bolt", "hole in its foot", "hangs on")
_BARS_HEAD = ("bar", "section", "length mm")
_Holes = list[tuple[tuple[str, ...], tuple[float, ...]]]
# Places that differ by less are the same to a shop, mm.
_SAME = 0.01


@dataclass(frozen=True, slots=True)
class RailEnds:
    """Both ends of a set of rails.

    Attributes:
        cradle: the holes that hold the motors: (motor, rail, face) and (behind, out, above, diameter) mm.
        mounts: by name, place (mm, vehicle frame), and bolt, hole and bar in words.
        bars: by mark, section and length in mm.
    """

    cradle: tuple[tuple[tuple[str, str, str], tuple[float, float, float, float]], ...]
    mounts: dict[str, tuple[tuple[float, float, float], tuple[str, str, str]]]
    bars: dict[str, tuple[str, float]]


def ends_of(design: RailDesign) -> RailEnds:
    """Return both ends of a set of rails."""
    from baywright.rail.pattern import cradle_pattern
    from baywright.rail.setting_out import mount_rows

    places = {name: (float(p[0]), float(p[1]), float(p[2])) for name, p in design.located.places.items()}
    return RailEnds(
        cradle=tuple(((str(h.motor), h.rail, h.face), (h.behind, h.out, h.up, h.hole)) for h in cradle_pattern(design)),
        mounts={r.name: (places[r.name], (r.bolt, r.hole, r.bar)) for r in mount_rows(design)},
        bars={mark: (bar.stock.name, float(bar.high - bar.low)) for mark, bar in design.bars.items()},
    )


def write_ends(ends: RailEnds, folder: Path) -> list[Path]:
    """Write a table each of the cradle's holes, the mounts and the bars into a folder and return the paths."""
    cradle = [(*words, *(round(v, 3) + 0.0 for v in sizes)) for words, sizes in ends.cradle]
    mounts = [(name, *(round(v, 2) + 0.0 for v in place), *words) for name, (place, words) in ends.mounts.items()]
    bars = [(mark, section, length) for mark, (section, length) in ends.bars.items()]
    return [
        write_table(folder / CRADLE, _CRADLE_HEAD, cradle),
        write_table(folder / MOUNTS, _MOUNTS_HEAD, mounts),
        write_table(folder / BARS, _BARS_HEAD, bars),
    ]


def read_ends(folder: Path) -> RailEnds:
    """Return what `write_ends` wrote.

    Raises:
        OSError: if a table is missing.
        KeyError: if a column is.
        ValueError: if a number is none.
    """
    cradle = []
    for row in read_table(folder / CRADLE):
        words = (row["motor"], row["rail"], row["face"])
        behind, out, above, hole = (float(row[key]) for key in _CRADLE_HEAD[3:])
        cradle.append((words, (behind, out, above, hole)))
    mounts = {}
    for row in read_table(folder / MOUNTS):
        x, y, z = (float(row[key]) for key in _MOUNTS_HEAD[1:4])
        mounts[row["mount"]] = ((x, y, z), (row["bolt"], row["hole in its foot"], row["hangs on"]))
    bars = {row["bar"]: (row["section"], float(row["length mm"])) for row in read_table(folder / BARS)}
    return RailEnds(tuple(cradle), mounts, bars)


def ends_beside(old: RailEnds, new: RailEnds) -> list[tuple[str, str, str]]:
    """Return how two sets of rails differ, as (end, "equal" or "differs", in words): cradle, mounts, bars."""
    return [_cradles(old, new), *_mounts(old, new), *_bars(old, new)]


def _by_motor(ends: RailEnds) -> dict[str, _Holes]:
    found: dict[str, _Holes] = {}
    for (motor, *words), sizes in ends.cradle:
        found.setdefault(motor, []).append((tuple(words), sizes))
    return found


def _alike(
    a: list[tuple[tuple[str, ...], tuple[float, ...]]], b: list[tuple[tuple[str, ...], tuple[float, ...]]]
) -> bool:
    return len(a) == len(b) and all(
        p == q and max(abs(u - v) for u, v in zip(s, t, strict=True)) <= _SAME
        for (p, s), (q, t) in zip(a, b, strict=True)
    )


def _cradles(old: RailEnds, new: RailEnds) -> tuple[str, str, str]:
    """Compare the patterns of all motors of both, each seen from its own motor."""
    one, other = _by_motor(old), _by_motor(new)
    first = next(iter(one.values()), [])
    every = [*one.values(), *other.values()]
    if all(_alike(first, some) for some in every):
        motors = "" if len(one) == len(other) == 1 else f"; motors in line: {len(one)} before, {len(other)} after"
        text = f"all {len(first)} holes that hold a motor are in the same places, seen from the motor{motors}"
        return "cradle", "equal", text
    counts = " and ".join(str(len(next(iter(by.values()), []))) for by in (one, other))
    return "cradle", "differs", f"holes for a motor: {counts}; not in the same places: another motor, cradle or section"


def _mounts(old: RailEnds, new: RailEnds) -> list[tuple[str, str, str]]:
    rows = []
    for name in dict.fromkeys([*old.mounts, *new.mounts]):
        a, b = old.mounts.get(name), new.mounts.get(name)
        if a is None or b is None:
            place, words = a or b or ((0.0, 0.0, 0.0), ("", "", ""))
            x, y, z = (f"{v:.0f}" for v in place)
            rows.append((f"mount {name}", "gone" if b is None else "new", f"at {x}, {y}, {z}: {', '.join(words)}"))
            continue
        told = []
        if math.dist(a[0], b[0]) > _SAME:
            told.append("moved by " + ", ".join(f"{v - u:+.1f}" for u, v in zip(a[0], b[0], strict=True)) + " mm")
        told += [f"{u} → {v}" for u, v in zip(a[1], b[1], strict=True) if u != v]
        rows.append((f"mount {name}", "differs" if told else "equal", "; ".join(told)))
    return rows


def _bars(old: RailEnds, new: RailEnds) -> list[tuple[str, str, str]]:
    rows = []
    for mark in dict.fromkeys([*old.bars, *new.bars]):
        a, b = old.bars.get(mark), new.bars.get(mark)
        if a is None or b is None:
            section, length = a or b or ("", 0.0)
            rows.append((mark, "gone" if b is None else "new", f"{section}, {length:g} mm"))
            continue
        told = [f"{a[0]} → {b[0]}"] if a[0] != b[0] else []
        told += [f"{a[1]:g} → {b[1]:g} mm long"] if abs(a[1] - b[1]) > _SAME else []
        rows.append((mark, "differs" if told else "equal", "; ".join(told)))
    return rows
