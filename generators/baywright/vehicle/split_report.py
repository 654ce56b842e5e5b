"""The split of modules to read and to look at: a table of the layouts worth choosing from, and their trade-off."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from baywright.figure import new_figure
from baywright.vehicle.limits import SHARE_LOOK
from baywright.vehicle.split import Layouts

if TYPE_CHECKING:
    from matplotlib.figure import Figure
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


def split_rows(
    layouts: Layouts, rows: Sequence[int], voltage: float | None = None
) -> list[dict[str, str | float | int]]:
    """Return layouts as plain rows: modules, range, loads, front share's change, height, added yaw inertia, bays.

    Args:
        layouts: the layouts.
        rows: which of them.
        voltage: what each module adds to the pack's nominal voltage, V: a module's over the strings in parallel.
    """
    found = []
    for i in rows:
        row: dict[str, str | float | int] = {
            "modules": int(layouts.modules[i]),
            **({} if voltage is None else {"pack, V": round(float(layouts.modules[i]) * voltage)}),
            "range, km": round(float(layouts.range[i])),
            "mass, kg": round(float(layouts.mass[i])),
            "front, kg": round(float(layouts.front[i])),
            "rear, kg": round(float(layouts.rear[i])),
            "front share": round(float(layouts.share_change[i]), 1),
        }
        if not np.isnan(layouts.z[i]):
            row["height, mm"] = round(float(layouts.z[i]))
        if not np.isnan(layouts.inertia[i, 2]):
            row["yaw, kg·m²"] = round(float(layouts.inertia[i, 2]))
        for bay, choice in layouts.picked(i).items():
            row[bay] = "-" if choice is None else f"{choice.count} {choice.place}"
        found.append(row)
    return found


def reading_order(layouts: Layouts) -> NDArray[np.int64]:
    """Return all layouts in reading order: most modules first, of equals the least change of the front share."""
    return np.lexsort((np.abs(layouts.share_change), -layouts.modules)).astype(np.int64)


def numbers_of(layouts: Layouts) -> NDArray[np.int64]:
    """Return each layout's number in reading order, from 1."""
    number = np.empty(len(layouts.mass), dtype=np.int64)
    number[reading_order(layouts)] = np.arange(1, len(number) + 1)
    return number


def render_split(
    layouts: Layouts,
    most: int = 12,
    rows: Sequence[int] | None = None,
    asked: int | None = None,
    voltage: float | None = None,
) -> "Table":
    """Return a table of layouts, how many were tried, and why the others fell out.

    Each layout carries its number in reading order, whatever rows are shown.

    Args:
        layouts: the layouts.
        most: how many of those worth choosing from are shown at most.
        rows: the layouts to show in place of those.
        asked: the layout that the job asks for, to be pointed out.
        voltage: as in `split_rows`.
    """
    from rich.table import Table

    shown = worth_reading(layouts, most) if rows is None else rows
    number = numbers_of(layouts)
    lines = split_rows(layouts, shown, voltage)
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
    figures = [name for name in (lines[0] if lines else ()) if name not in layouts.bays]
    for name in figures:
        table.add_column(name.replace(" ", "\n"), justify="right", no_wrap=True)
    table.add_column("", no_wrap=True)
    for name in layouts.bays:
        table.add_column(name)
    unbeaten = set(layouts.trade.tolist())
    for i, line in zip(shown, lines, strict=True):
        remark = "as asked" if i == asked else "" if i in unbeaten else "beaten"
        cells = [f"{line[k]:+.1f}" if k == "front share" else f"{line[k]}" for k in figures]
        table.add_row(str(number[i]), *cells, remark, *(str(line[bay]) for bay in layouts.bays))
    return table


def split_figure(layouts: Layouts, marked: int | None = None) -> "Figure":
    """Return a picture of the trade-off: range against change of the front share, coloured by height.

    Args:
        layouts: the layouts; at least one.
        marked: a layout to point out: the one that the job asks for.
    """
    figure = new_figure(10.5, 6.4)
    axes = figure.add_subplot()
    axes.axvspan(-SHARE_LOOK, SHARE_LOOK, color="#009E73", alpha=0.08, lw=0)
    axes.axvline(0, color="0.6", lw=0.8)
    shown = np.arange(len(layouts.mass))
    if len(shown) > 20_000:  # a cloud needs no more dots
        shown = np.random.default_rng(0).choice(shown, 20_000, replace=False)
    size = 26 if len(shown) < 300 else 5
    axes.scatter(
        layouts.share_change[shown],
        layouts.range[shown],
        s=size,
        color="0.8",
        lw=0,
        rasterized=True,
        label="keeps the limits, but another is as good or better in all three",
    )
    trade = layouts.trade
    heights = layouts.z[trade]
    known = len(heights) > 0 and not np.isnan(heights).any()
    dots = axes.scatter(
        layouts.share_change[trade],
        layouts.range[trade],
        c=heights if known else "#0072B2",
        cmap="viridis_r",
        s=52,
        edgecolors="0.2",
        linewidths=0.6,
        zorder=3,
        label="worth choosing from",
    )
    if known:
        figure.colorbar(dots, label="centroid above ground, mm (lower is better)")
    number = numbers_of(layouts)
    named = list(dict.fromkeys([*worth_reading(layouts, 8), *([] if marked is None else [marked])]))
    for i in named:
        text = f"no. {number[i]}: " + " + ".join(str(count) for count in layouts.counts(i).values())
        axes.annotate(
            text,
            (layouts.share_change[i], layouts.range[i]),
            xytext=(0, -21 if i == marked else 8),
            textcoords="offset points",
            ha="center",
            fontsize=8.5,
            color="#CC0000" if i == marked else "0.1",
            bbox={"fc": "white", "ec": "none", "pad": 0.6, "alpha": 0.8},
            zorder=4,
        )
    if marked is not None:
        x, y = layouts.share_change[marked], layouts.range[marked]
        axes.plot(x, y, "o", ms=15, mfc="none", mec="#CC0000", mew=2, zorder=5, ls="none", label="as the job has it")
    low, high = axes.get_xlim()
    axes.set_xlim(min(low, -1.15 * SHARE_LOOK), max(high, 1.15 * SHARE_LOOK))
    axes.margins(y=0.12)
    axes.set_xlabel("← lighter in front       change of the front share, points of %       heavier in front →")
    axes.set_ylabel("everyday range, km")
    axes.set_title(
        f"Modules in {' + '.join(layouts.bays)}; green: within {SHARE_LOOK:g} points of the car as it was", fontsize=11
    )
    axes.grid(color="0.93", zorder=-1)
    axes.legend(fontsize=8.5, loc="upper center", bbox_to_anchor=(0.5, -0.12), ncols=3, frameon=False)
    return figure
