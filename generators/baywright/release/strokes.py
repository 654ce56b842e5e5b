"""Part numbers as plain strokes that a laser or a scriber can follow: no font file, the same on every machine."""

import numpy as np
from numpy.typing import NDArray

# Each character on a grid 4 wide and 6 high: strokes apart by spaces, corners as pairs of digits (x, y).
_GLYPHS = {
    "A": "002640 1333",
    "B": "00063645443342413000 0333",
    "C": "4536160501103041",
    "D": "00062644422000",
    "E": "46060040 0333",
    "F": "460600 0333",
    "G": "45361605011030414323",
    "H": "0006 4046 0343",
    "I": "1636 1030 2620",
    "J": "4641301001",
    "K": "0006 4602 1340",
    "L": "060040",
    "M": "0006234640",
    "N": "00064046",
    "O": "100105163645413010",
    "P": "00063645443303",
    "Q": "100105163645413010 2240",
    "R": "00063645443303 2340",
    "S": "453616050413334241301001",
    "T": "0646 2620",
    "U": "060110304146",
    "V": "062046",
    "W": "0610233046",
    "X": "0046 0640",
    "Y": "062346 2320",
    "Z": "06460040",
    "0": "100105163645413010 0145",
    "1": "152620 1030",
    "2": "05163645440040",
    "3": "0516364544334241301001 1333",
    "4": "30360242",
    "5": "460603334241301001",
    "6": "453616050110304142331302",
    "7": "064610",
    "8": "13040516364544334241301001021333",
    "9": "011030414536160504133344",
    "-": "1333",
    ".": "2021",
    " ": "",
}
_HIGH, _ADVANCE = 6, 6


def text_size(text: str, height: float) -> tuple[float, float]:
    """Return width and height in mm of a text set in strokes, letters `height` mm high."""
    return height / _HIGH * (_ADVANCE * len(text) - 2), height


def text_strokes(text: str, height: float) -> list[NDArray[np.float64]]:
    """Return the strokes of a text, each (n, 2) mm, from the origin at its lower left; letters are set in capitals.

    Args:
        text: letters, digits, hyphens, dots and spaces; anything else is left as a gap.
        height: of a letter, mm.
    """
    strokes = []
    for place, character in enumerate(text.upper()):
        for stroke in _GLYPHS.get(character, "").split():
            corners = np.array([int(digit) for digit in stroke], dtype=float).reshape(-1, 2)
            strokes.append((corners + np.array([_ADVANCE * place, 0.0])) * (height / _HIGH))
    return strokes
