"""The cautions that go out with every release."""

from pathlib import Path

NAME = "CAUTIONS.txt"

CAUTIONS = (
    "A battery is live from the day it is delivered: it cannot be switched off. Above 60 V DC it can kill. Only trained"
    " people work on it, with insulated tools, never alone; isolate, then prove that it is dead before touching it.",
    "A short circuit melts metal, starts fires and gives off poisonous gas. Swarf in a pack ends the same way: drill,"
    " file and clean every part before the first module goes in.",
    "These files are geometry and arithmetic. They say nothing about a crash, fatigue, fire or heat, and approve"
    " nothing. A licensed engineer checks and signs for the vehicle; local codes and the inspector have the last word.",
    "A bond is as good as its preparation. Follow the adhesive maker's sheet, bond and break test coupons with every"
    " batch, keep the cure times, and protect lungs, eyes and skin.",
    "Find out what your registration law allows before drilling or cutting the car.",
    "What was measured on the car carries errors. Offer up paper, card or a dummy before cutting metal, and check the"
    " first part against its drawing before ordering the rest.",
    "Never turn a motor above its rated speed, with a runout that was not measured, or with an open coupling.",
    "Hold loads with rated lifting gear and stands. After the conversion weigh the car and check tyres, brakes and axle"
    " loads against their ratings.",
    "Lead vents out of the cabin and away from people. A coolant leak can bridge terminals: keep joints below or"
    " outside, and test for leaks before fitting modules.",
    "Do not fit a module that is swollen, damaged or of unknown history.",
    "Check every file's scale line and stated size in the cutter's software before cutting; every plate says from which"
    " side it is seen.",
)


def write_cautions(folder: Path) -> Path:
    """Write the cautions as a text file and return its path."""
    lines = ["CAUTIONS: read before cutting, drilling, bonding or wiring", ""]
    lines += [f"{number}. {text}\n" for number, text in enumerate(CAUTIONS, 1)]
    path = folder / NAME
    path.write_text("\n".join(lines), encoding="utf-8", newline="\n")
    return path
