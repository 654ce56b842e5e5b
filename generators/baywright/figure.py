"""Pictures as files that come out the same every time. matplotlib is loaded only here, when a picture is wanted."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SUFFIXES = (".svg", ".png", ".pdf")


def new_figure(width: float, height: float, tight: bool = True) -> "Figure":
    """Return an empty figure of a size in inches, laid out to fit unless `tight` is False."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), layout="constrained" if tight else None)
    FigureCanvasAgg(figure)
    return figure


def save_figure(figure: "Figure", path: Path) -> Path:
    """Write a figure as SVG, PNG or PDF, by the file's suffix, and return the path.

    No date, no version and no chance in the bytes: the same picture is the same file.

    Raises:
        ValueError: for another suffix.
    """
    import matplotlib

    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise ValueError(f"a picture's name must end in {', '.join(SUFFIXES)}, not '{suffix}'")
    # The layout's solver ends a rounding error apart from run to run, and an SVG names its clips after all digits.
    figure.draw_without_rendering()
    figure.set_layout_engine("none")
    for axes in figure.axes:
        left, low, wide, high = (round(v, 6) for v in axes.get_position(original=True).bounds)
        axes.set_position((left, low, wide, high))
    about: dict[str, Any] = {".png": {"Software": None}, ".svg": {"Date": None}, ".pdf": {"CreationDate": None}}[suffix]
    with matplotlib.rc_context({"svg.hashsalt": "baywright"}):
        figure.savefig(path, dpi=130, metadata=about)
    return path
