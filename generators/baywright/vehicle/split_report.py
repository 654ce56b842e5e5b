"""The split of modules to read and to look at: a table of the layouts worth choosing from, and their trade-off."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from baywright.figure import save_figure
from baywright.vehicle.split import Layouts

if TYPE_CHECKING:
    from rich.table import Table


def worth_reading(layouts: Layouts, most: int = 12) -> list[int]:
    """Return layouts for a table: of the unbeaten ones, for each number of modules the nearest to the old balance.

    Where there are more than `most`, those spread evenly over the range stay, its ends among them.
    """
    best: dict[int, int] = {}
    for i in layouts.trade.tolist():
        n = int(layouts.modules[i])
        if n not in best or abs(layouts.share_change[i]) < abs(layouts.share_change[best[n]]):
            best[n] = i
    rows = [best[n] for n in sorted(best, reverse=True)]
    if len(rows) > most:
        rows = [rows[k] for k in np.unique(np.linspace(0, len(rows) - 1, most).round().astype(int))]
    return rows


def split_rows(layouts: Layouts, rows: Sequence[int]) -> list[dict[str, str | float | int]]:
    """Return layouts as plain rows: bays, modules, range, loads, change of the front share, height."""
    found = []
    for i in rows:
        row: dict[str, str | float | int] = {}
        for bay, choice in layouts.picked(i).items():
            row[bay] = "-" if choice is None else f"{choice.count} {choice.place}"
        row |= {
            "modules": int(layouts.modules[i]),
            "range, km": round(float(layouts.range[i])),
            "mass, kg": round(float(layouts.mass[i])),
            "front, kg": round(float(layouts.front[i])),
            "rear, kg": round(float(layouts.rear[i])),
            "front share": round(float(layouts.share_change[i]), 1),
        }
        if not np.isnan(layouts.z[i]):
            row["height, mm"] = round(float(layouts.z[i]))
        found.append(row)
    return found


def reading_order(layouts: Layouts) -> NDArray[np.int64]:
    """Return all layouts in reading order: most modules first, of equals the least change of the front share."""
    return np.lexsort((np.abs(layouts.share_change), -layouts.modules)).astype(np.int64)


def render_split(
    layouts: Layouts, most: int = 12, rows: Sequence[int] | None = None, asked: int | None = None
) -> "Table":
    """Return a table of layouts, how many were tried, and why the others fell out.

    Each layout carries its number in reading order, whatever rows are shown.

    Args:
        layouts: the layouts.
        most: how many of those worth choosing from are shown at most.
        rows: the layouts to show in place of those.
        asked: the layout that the job asks for, to be pointed out.
    """
    from rich.table import Table

    shown = worth_reading(layouts, most) if rows is None else rows
    number = np.empty(len(layouts.mass), dtype=np.int64)
    number[reading_order(layouts)] = np.arange(1, len(number) + 1)
    lines = split_rows(layouts, shown)
    dropped = ", ".join(f"{name} {count}" for name, count in layouts.dropped.items())
    table = Table(
        title=f"{layouts.tried} ways, {len(layouts.mass)} keep the limits, {len(layouts.trade)} are unbeaten",
        caption=f"broken by: {dropped}" if dropped else None,
        title_justify="left",
        caption_justify="left",
        show_edge=False,
        pad_edge=False,
        box=None,
    )
    table.add_column("no.", justify="right")
    for name in lines[0] if lines else ():
        table.add_column(name, justify="left" if name in layouts.bays else "right")
    table.add_column("")
    unbeaten = set(layouts.trade.tolist())
    for i, line in zip(shown, lines, strict=True):
        remark = ["as asked"] if i == asked else []
        remark += [] if i in unbeaten else ["beaten"]
        cells = (f"{v:+.1f}" if k == "front share" else str(v) for k, v in line.items())
        table.add_row(str(number[i]), *cells, ", ".join(remark))
    return table


def split_picture(layouts: Layouts, path: Path, marked: int | None = None) -> None:
    """Write a picture (PNG, SVG or PDF by the name's ending): range against change of the front share, and height.

    Args:
        layouts: the layouts.
        path: the file.
        marked: a layout to point out, such as the one that the job asks for.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.8, 6.0), dpi=110, layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.axvspan(-2, 2, color="#009E73", alpha=0.08, lw=0)
    axes.axvline(0, color="0.6", lw=0.8)
    shown = np.arange(len(layouts.mass))
    if len(shown) > 20_000:  # a cloud needs no more dots
        shown = np.random.default_rng(0).choice(shown, 20_000, replace=False)
    size = 26 if len(shown) < 300 else 5
    axes.scatter(layouts.share_change[shown], layouts.range[shown], s=size, color="0.8", lw=0, rasterized=True)
    trade = layouts.trade
    heights = layouts.z[trade]
    known = len(heights) > 0 and not np.isnan(heights).any()
    dots = axes.scatter(
        layouts.share_change[trade],
        layouts.range[trade],
        c=heights if known else "#0072B2",
        cmap="viridis_r",
        s=46,
        edgecolors="0.2",
        linewidths=0.6,
        zorder=3,
    )
    if known:
        figure.colorbar(dots, label="centroid above ground, mm")
    for i in worth_reading(layouts, 8):
        text = " + ".join(str(count) for count in layouts.counts(i).values())
        axes.annotate(
            text,
            (layouts.share_change[i], layouts.range[i]),
            xytext=(6, 5),
            textcoords="offset points",
            fontsize=8,
            bbox={"fc": "white", "ec": "none", "pad": 0.6, "alpha": 0.75},
            zorder=4,
        )
    if marked is not None:
        x, y = layouts.share_change[marked], layouts.range[marked]
        axes.plot(x, y, "o", ms=15, mfc="none", mec="#CC0000", mew=2, zorder=5)
        axes.annotate("as asked", (x, y), xytext=(10, -14), textcoords="offset points", color="#CC0000", fontsize=9)
    axes.set_xlabel("change of the front share, points (left: lighter in front)")
    axes.set_ylabel("everyday range, km")
    axes.set_title(
        f"modules in {' + '.join(layouts.bays)}; grey: keeps the limits, dots: unbeaten, green: within 2 points",
        fontsize=10,
    )
    axes.grid(color="0.93", zorder=-1)
    save_figure(figure, path)
