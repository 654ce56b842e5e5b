"""Pictures as files that come out the same every time. matplotlib is loaded only here, when a picture is wanted."""

from pathlib import Path
from typing import TYPE_CHECKING

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

    Raises:
        ValueError: for another suffix.
    """
    import matplotlib

    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise ValueError(f"a picture's name must end in {', '.join(SUFFIXES)}, not '{suffix}'")
    # No dates and no random ids: the same picture is the same file.
    undated = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}.get(suffix)
    with matplotlib.rc_context({"svg.hashsalt": "baywright"}):
        figure.savefig(path, dpi=130, metadata=undated)
    return path
