"""Colours of pieces in solids and pictures: by what a thing is, so that a box reads at a glance."""

from baywright.piece.assembly import Piece
from baywright.piece.bought import Bought
from baywright.piece.extrusion import Extrusion

_EXTRUSION = (0.80, 0.62, 0.34)
# Red, green, blue from 0 to 1. The first word that stands in a role wins.
_BY_WORD = (
    ("angle", _EXTRUSION),
    ("flange", _EXTRUSION),
    ("lid", (0.55, 0.68, 0.80)),
    ("gasket", (0.16, 0.17, 0.18)),
    ("liner", (0.93, 0.89, 0.70)),
    ("module", (0.34, 0.52, 0.42)),
    ("screw", (0.28, 0.29, 0.32)),
    ("washer", (0.58, 0.59, 0.61)),
    ("insert", (0.72, 0.58, 0.30)),
    ("nut", (0.58, 0.59, 0.61)),
    ("gland", (0.15, 0.15, 0.16)),
    ("connector", (0.85, 0.45, 0.15)),
    ("foot", (0.62, 0.44, 0.36)),
    ("doubler", (0.62, 0.44, 0.36)),
    ("motor", (0.40, 0.45, 0.52)),
)
_PLATE = (0.74, 0.77, 0.80)
_BOUGHT = (0.50, 0.50, 0.56)


def colour_of(piece: Piece) -> tuple[float, float, float]:
    """Return a piece's colour as red, green, blue from 0 to 1."""
    text = piece.role.lower()
    for word, colour in _BY_WORD:
        if word in text:
            return colour
    if isinstance(piece, Bought):
        return _BOUGHT
    return _EXTRUSION if isinstance(piece, Extrusion) else _PLATE
