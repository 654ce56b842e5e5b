"""Boxes for the tests: the shop's own tables, and modules of any size made on the spot."""

from __future__ import annotations

from dataclasses import dataclass

import hypothesis.strategies as st
import pytest

from baywright.job.catalogue import Catalogue, load_catalogue
from baywright.job.models import BoxAsk
from baywright.job.parts import Module


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load_catalogue(None)


class Bench:
    """The shop's catalogue with one module of our own and, if given, a changed style."""

    def __init__(self, base: Catalogue, module: Module | None = None, style: object | None = None) -> None:
        self._base, self._module, self._style = base, module, style

    def module(self, name: str) -> Module:
        return self._module if self._module is not None and name == self._module.name else self._base.module(name)

    def style(self, name: str) -> object:
        return self._style if self._style is not None else self._base.style(name)

    def __getattr__(self, name: str) -> object:
        return getattr(self._base, name)


def module_of(
    length: float,
    width: float,
    height: float,
    *,
    inset: float = 20.0,
    cable: float = 16.0,
    ears: bool = False,
    terminals: float = 0.7,
) -> Module:
    """Return an invented module of a size: sleeves over its height, or low ears, near its corners."""
    x, y = length / 2 - inset, width / 2 - inset
    low = {"seat": 16, "recess": 22} if ears else {"seat": height}
    return Module.model_validate(
        {
            "name": "made-up",
            "description": "a module made for a test",
            "source": "invented",
            "size": [length, width, height],
            "mass": round(length * width * height * 1.7e-6, 3),
            "centre_of_mass": [0, 0, height / 2],
            "gap": [4, 4, 4],
            "orientations": ["flat", "side", "end"],
            "hold_downs": [
                {
                    "axis": "z",
                    "screw": "M6",
                    "hole": 6.6,
                    **low,
                    "positions": [[-x, -y], [-x, y], [x, -y], [x, y]],
                },
                {
                    "axis": "y",
                    "screw": "M6",
                    "hole": 6.6,
                    "seat": width,
                    "positions": [[-x, inset], [-x, height - inset], [x, inset], [x, height - inset]],
                },
                {
                    "axis": "x",
                    "screw": "M6",
                    "hole": 6.6,
                    "seat": length,
                    "positions": [[-y, inset], [-y, height - inset], [y, inset], [y, height - inset]],
                },
            ],
            "terminals": [
                {"name": "+", "at": [length / 2, width / 4, height * terminals], "exit": "+x", "cable": cable},
                {"name": "-", "at": [length / 2, -width / 4, height * terminals], "exit": "+x", "cable": cable},
            ],
            "ports": [],
            "coolant_litres": 0.3,
            "electrical": {
                "series": 12,
                "parallel": 2,
                "capacity": 60,
                "nominal_voltage": 44.4,
                "full_voltage": 50.4,
                "cutoff_voltage": 36.0,
                "continuous_current": 120,
                "peak_current": 300,
                "resistance_mohm": 8,
            },
        }
    )


def ask_for(**changes: object) -> BoxAsk:
    """Return a request for a box, with changes to the usual one."""
    asked: dict[str, object] = {
        "style": "workshop",
        "module": "m590",
        "count": 3,
        "orientation": "flat",
        "at": [0, 0, 0],
        "fittings": [],
    }
    asked.update(changes)
    return BoxAsk.model_validate(asked)


@dataclass(frozen=True)
class Case:
    """One drawn box: its module and its request, and the style's changes."""

    module: Module
    ask: BoxAsk
    style: dict[str, object]


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Draw a box over the whole range: module size, count, columns, rows, carrying, flange, sheet, orientation."""
    size = [float(draw(st.integers(150, 800))), float(draw(st.integers(150, 500))), float(draw(st.integers(80, 260)))]
    inset, cable = float(draw(st.integers(16, 30))), float(draw(st.integers(8, 22)))
    module = module_of(
        *size, inset=inset, cable=cable, ears=draw(st.booleans()), terminals=draw(st.sampled_from([0.3, 0.7, 0.95]))
    )
    ask = ask_for(
        module="made-up",
        count=draw(st.integers(1, 8)),
        columns=draw(st.integers(1, 3)),
        rows=draw(st.integers(1, 2)),
        carry=draw(st.sampled_from(["ledges", "tie rods"])),
        orientation=draw(st.sampled_from(["flat", "flat", "side"])),
        lift=draw(st.booleans()),
        fittings=[{"fitting": name} for name in draw(st.sampled_from([[], ["breather-m12", "earth-stud-m8"]]))],
    )
    style: dict[str, object] = {
        "wall": draw(st.sampled_from([1.5, 2.0, 3.0, 4.0, 5.0, 6.0])),
        "floor": draw(st.sampled_from([3.0, 4.0, 5.0, 6.0])),
        "flange": draw(st.sampled_from(["in", "out"])),
        "bond_line": draw(st.sampled_from([0.15, 0.25, 0.5])),
        "feet": draw(st.sampled_from(["end walls", "long walls"])),
        "bolts": draw(st.sampled_from([1, 2])),
    }
    return Case(module, ask, style)


def styled(base: object, changes: dict[str, object]) -> object:
    """Return the workshop style with sheet thicknesses, flange, bond line and feet of the case's own."""
    update: dict[str, object] = {"flange": changes["flange"], "bond_line": changes["bond_line"]}
    # Thick floors and bonds lift the feet's upper screws: a taller leg, as the generator's own sentence asks.
    feet = {"section": "angle-70x70x6", "on": changes["feet"], "bolts": changes["bolts"], "length": 85.0}
    update["feet"] = base.feet.model_copy(update=feet)  # type: ignore[attr-defined]
    for name in ("wall", "floor"):
        update[name] = getattr(base, name).model_copy(update={"thickness": changes[name]})
    return base.model_copy(update=update)  # type: ignore[attr-defined]
