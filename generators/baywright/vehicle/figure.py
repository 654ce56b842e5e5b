"""Pictures as files that come out the same every time."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def save(figure: "Figure", path: Path) -> None:
    """Write a figure as PNG, SVG or PDF by the name's ending: no date, no version, no chance in the bytes."""
    import matplotlib

    # The layout's solver ends a rounding error apart from run to run, and an SVG names its clips after all digits.
    figure.draw_without_rendering()
    figure.set_layout_engine("none")
    for axes in figure.axes:
        left, low, wide, high = (round(v, 6) for v in axes.get_position(original=True).bounds)
        axes.set_position((left, low, wide, high))
    kind = path.suffix.lower().lstrip(".")
    about: dict[str, Any] = {"png": {"Software": None}, "svg": {"Date": None}}.get(kind, {"CreationDate": None})
    with matplotlib.rc_context({"svg.hashsalt": "baywright"}):
        figure.savefig(path, format=kind, metadata=about)
