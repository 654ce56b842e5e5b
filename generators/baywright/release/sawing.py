"""Sawing: what lengths to saw from which stock bars, on the fewest bars; as tables and as a picture."""

import math
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from baywright.piece.extrusion import Extrusion, Stock
from baywright.piece.numbering import Part, slug
from baywright.release.table import write_table

SAW_CUT = 3.0  # mm lost to each cut of a circular saw; common practice, no source
_NEAR = 1e-6  # mm
# Packings looked at before the search for fewer bars is given up; what a job wants is settled in a few hundred.
_NODES = 100_000
_MOST = 200  # lengths of one section; of more the search is not begun


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One bar of stock and the lengths to saw from it.

    Attributes:
        stock: the section's name.
        cuts: (part number, length mm), longest first.
        length: of the bar, mm.
        left: what remains after the cuts, saw cuts taken off, mm.
        fewest: whether it is proven that the section's lengths can't be had from fewer bars.
    """

    stock: str
    cuts: tuple[tuple[str, float], ...]
    length: float
    left: float
    fewest: bool = True


def extrusions(parts: Sequence[Part]) -> list[tuple[Part, Extrusion]]:
    """Return the parts that are sawn from stock."""
    return [(part, part.piece) for part in parts if isinstance(part.piece, Extrusion)]


def saw_plan(parts: Sequence[Part], saw_cut: float = SAW_CUT) -> list[Bar]:
    """Return the stock bars to buy and what is sawn from each: the fewest bars, the fullest first.

    A length longer than the stock gets a bar of its own with a negative rest, for the review and the list to show.

    Args:
        parts: plates and bought things among them are passed over.
        saw_cut: mm lost to each cut.
    """
    wanted: dict[str, list[tuple[str, float]]] = defaultdict(list)
    stocks: dict[str, Stock] = {}
    for part, piece in extrusions(parts):
        stocks[piece.stock.name] = piece.stock
        wanted[piece.stock.name] += [(part.number, piece.length)] * part.quantity
    bars: list[Bar] = []
    for name in sorted(wanted):
        whole = stocks[name].stock_length
        cuts = sorted(wanted[name], key=lambda cut: (-cut[1], cut[0]))
        fitting = [cut for cut in cuts if cut[1] <= whole + _NEAR]
        packed, proven = fewest_bars([length for _, length in fitting], whole, saw_cut)
        pool: dict[float, list[str]] = defaultdict(list)
        for number, length in fitting:
            pool[length].append(number)
        for lengths in packed:
            own = tuple((pool[length].pop(0), length) for length in lengths)
            left = max(whole - sum(lengths) - saw_cut * len(lengths), 0.0)
            bars.append(Bar(stock=name, cuts=own, length=whole, left=left, fewest=proven))
        bars += [Bar(stock=name, cuts=(cut,), length=whole, left=whole - cut[1]) for cut in cuts if cut not in fitting]
    return bars


def fewest_bars(lengths: Sequence[float], whole: float, saw_cut: float) -> tuple[list[list[float]], bool]:
    """Return lengths shared out over the fewest bars, the fullest bar first, and whether fewer are proven impossible.

    Laid first where each fits tightest, longest first; where that takes more bars than the lengths' sum asks, every
    packing bar by bar is tried (bin completion), each bar filled until nothing more goes on it. Of over 200 lengths
    only the first is done: a workshop saws no such lot, and the search would go too deep.

    Args:
        lengths: mm, none longer than the bar.
        whole: of a bar, mm.
        saw_cut: mm lost between two lengths.
    """
    if not lengths:
        return [], True
    # A cut less than lengths go on a bar: each takes its saw cut from a bar one saw cut longer.
    room = whole + saw_cut + _NEAR
    sizes = sorted((length + saw_cut for length in lengths), reverse=True)
    best = _tightest_first(sizes, room)
    least = math.ceil(sum(sizes) / room - 1e-9)
    proven = len(sizes) <= _MOST or len(best) == least
    # Fewest first: what can't be done with so many bars is known before one more is tried.
    for bars in range(least, len(best)) if len(sizes) <= _MOST else ():
        search = _Search(room)
        found = search.pack(Counter(sizes), bars, bars * room - sum(sizes))
        if found is not None:
            best = found
            break
        if search.nodes > _NODES:
            proven = False
            break
    best.sort(key=lambda one: (-sum(one), [-size for size in one]))
    exact = {length + saw_cut: length for length in lengths}
    return [[exact[size] for size in sorted(one, reverse=True)] for one in best], proven


def _tightest_first(sizes: Sequence[float], room: float) -> list[list[float]]:
    """Return sizes, longest first, each on the bar that it fills best."""
    packed: list[list[float]] = []
    left: list[float] = []
    for size in sizes:
        fits = [i for i, free in enumerate(left) if free >= size]
        if fits:
            i = min(fits, key=left.__getitem__)
        else:
            i = len(packed)
            packed.append([])
            left.append(room)
        packed[i].append(size)
        left[i] -= size
    return packed


class _Search:
    """A search for a packing on a given number of bars; what failed once is not tried again."""

    def __init__(self, room: float) -> None:
        self.room = room
        self.nodes = 0
        self.failed: set[tuple[int, tuple[tuple[float, int], ...]]] = set()

    def pack(self, counts: Counter[float], bars: int, waste: float) -> list[list[float]] | None:
        """Return the sizes on so many bars with no more than `waste` mm unused, or None."""
        rest = sorted(((size, n) for size, n in counts.items() if n), reverse=True)
        if not rest:
            return []
        if bars == 0 or (bars, tuple(rest)) in self.failed:
            return None
        largest = rest[0][0]
        counts[largest] -= 1
        found = self._fill(counts, [largest], self.room - largest, largest, bars, waste)
        counts[largest] += 1
        if found is None and self.nodes <= _NODES:
            self.failed.add((bars, tuple(rest)))
        return found

    def _fill(
        self, counts: Counter[float], own: list[float], free: float, most: float, bars: int, waste: float
    ) -> list[list[float]] | None:
        """Fill one bar further with sizes no longer than `most`, then pack the others."""
        self.nodes += 1
        if self.nodes > _NODES:
            return None
        for size in sorted((s for s, n in counts.items() if n and s <= min(free, most)), reverse=True):
            counts[size] -= 1
            found = self._fill(counts, [*own, size], free - size, size, bars, waste)
            counts[size] += 1
            if found is not None:
                return found
        # Filled up: no bar is better left with room for a length that is still to be sawn.
        if free > waste + _NEAR or any(n and s <= free for s, n in counts.items()):
            return None
        others = self.pack(counts, bars - 1, waste - free)
        return None if others is None else [own, *others]


def write_cut_list(parts: Sequence[Part], folder: Path, saw_cut: float = SAW_CUT) -> list[Path]:
    """Write cutlist.csv (what to saw) and bars.csv (what to saw it from) and return their paths.

    Nothing is written if no part is an extrusion.
    """
    found = extrusions(parts)
    if not found:
        return []
    rows = [
        (part.number, piece.role, piece.stock.name, piece.material, f"{piece.length:.2f}", part.quantity)
        for part, piece in found
    ]
    cuts = write_table(folder / "cutlist.csv", ("number", "role", "section", "material", "length mm", "quantity"), rows)
    return [cuts, write_bars(saw_plan(parts, saw_cut), folder / "bars.csv")]


def write_bars(plan: Sequence[Bar], path: Path) -> Path:
    """Write a saw plan as a table and return its path."""
    rows = []
    for index, bar in enumerate(plan, 1):
        text = "; ".join(f"{number} {length:.2f}" for number, length in bar.cuts)
        note = "longer than the stock: order to length" if bar.left < 0 else ""
        note = note or ("" if bar.fewest else "not proven the fewest")
        rows.append((index, bar.stock, f"{bar.length:g}", f"{bar.left:.2f}", text, note))
    head = ("bar", "section", "stock length mm", "left mm", "saw in this order", "note")
    return write_table(path, head, rows)


def write_saw_plan(plan: Sequence[Bar], folder: Path, saw_cut: float, revision: str) -> list[Path]:
    """Write a whole job's saw plan as a table and a picture into `folder`/saw and return their paths."""
    inside = folder / "saw"
    inside.mkdir(exist_ok=True)
    picture = inside / f"bars_rev{slug(revision)}.svg"
    picture.write_text(bars_svg(plan, saw_cut), encoding="utf-8", newline="\n")
    return [write_bars(plan, inside / f"bars_rev{slug(revision)}.csv"), picture]


def bars_svg(plan: Sequence[Bar], saw_cut: float = SAW_CUT) -> str:
    """Return a picture of every bar with its lengths and its offcut as SVG text, to a scale of 1:5."""
    scale, row, left, top = 0.2, 34.0, 150.0, 46.0
    wide = left + max((bar.length for bar in plan), default=0.0) * scale + 30
    body = ""
    for index, bar in enumerate(plan):
        y = top + row * index
        body += f'<text x="8" y="{y + 14:.1f}" font-size="11">{index + 1}  {bar.stock}</text>'
        whole = bar.length * scale
        body += f'<rect x="{left:g}" y="{y:.1f}" width="{whole:.1f}" height="20" fill="#f4f1ea" stroke="#555"/>'
        x = left
        for number, length in bar.cuts:
            long = min(length, bar.length) * scale
            body += f'<rect x="{x:.1f}" y="{y:.1f}" width="{long:.1f}" height="20" fill="#cfd6dc" stroke="#1d2733"/>'
            text = f"{number} {length:.1f}"
            size = min(10.0, 1.7 * long / len(text))
            if size >= 4:
                middle = x + long / 2
                body += f'<text x="{middle:.1f}" y="{y + 13.5:.1f}" font-size="{size:.1f}" text-anchor="middle">'
                body += f"{text}</text>"
            x += long + saw_cut * scale
        if bar.left * scale > 40:
            body += f'<text x="{left + whole - 4:.1f}" y="{y + 13.5:.1f}" font-size="9" text-anchor="end"'
            body += f' fill="#555">{bar.left:.0f} left</text>'
    said = f"{len(plan)} bars; lengths in mm in the order to saw them, from the left; saw cut {saw_cut:g} mm"
    high = top + row * len(plan) + 10
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high:.0f}" width="{wide:.0f}"'
        f' font-family="Helvetica, Arial, sans-serif" role="img" aria-label="{said}">'
        f'<rect width="100%" height="100%" fill="#fff"/><text x="8" y="24" font-size="14">{said}</text>{body}</svg>\n'
    )
