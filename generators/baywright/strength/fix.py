"""What would fix a member: the smallest change of the box's style that passes, found by making the box again."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from baywright.box.generate import BoxDesign, generate
from baywright.box.rules import check_box
from baywright.finding import CannotBuild, Verdict, verdict_of
from baywright.job.loads import LoadCase
from baywright.job.parts import Section
from baywright.job.style import Style
from baywright.strength.box import calculations
from baywright.strength.check import Calculation
from baywright.strength.verdict import governing


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """A change and what it comes to.

    Attributes:
        member: the member that it mends.
        key: the style's key to change ("wall.thickness").
        old: its value now, as text.
        new: the value that passes.
        use: how much of the member is used then.
        what: what governs it then, as text.
        verdict: "fail" if no step mends it and this is the best there is.
        mass: what the box gains, kg.
        problem: what the changed box then fails in other ways, or "".
    """

    member: str
    key: str
    old: str
    new: str
    use: float
    what: str
    verdict: Verdict
    mass: float
    problem: str = ""

    def text(self) -> str:
        """Return the change as one sentence."""
        change = f"{self.key} {self.old} -> {self.new}: {self.what}; {self.mass:+.2f} kg"
        if self.verdict == "fail":
            return f"no single step in the shop's tables is enough; the best: {change}"
        return change + (f"; but {self.problem}" if self.problem else "")


class Step(NamedTuple):
    """One change: its key, its value as text before and after, the style, and what changes in the box's own request."""

    key: str
    old: str
    new: str
    style: Style
    ask: dict[str, Any]


Ladder = Callable[[BoxDesign], Iterator[Step]]


def fixes(design: BoxDesign, cases: Sequence[LoadCase], member: str) -> list[Fix]:
    """Return what would mend a member, lightest first: for each key the first step that passes, or the best there is.

    The box is made again for every step, so this takes a while: some tenths of a second a step.

    Args:
        design: the box.
        cases: the load cases that it is to pass.
        member: the member, as findings call it.
    """
    before = design.mass_properties.mass
    found: list[Fix] = []
    best: Fix | None = None
    for ladder in _LADDERS.get(member, ()):
        for step in ladder(design):
            made = _made(design, step)
            judged = _judged(made, cases, member) if made is not None else None
            if made is None or judged is None:
                continue
            one, verdict, more = judged
            fix = Fix(
                member=member,
                key=step.key,
                old=step.old,
                new=step.new,
                use=one.use,
                what=f"{one.what} {100 * one.use:.0f} % used" + (f", {more}" if more else ""),
                verdict=verdict,
                mass=made.mass_properties.mass - before,
                problem=_problem(made) if verdict != "fail" else "",
            )
            if verdict != "fail":
                found.append(fix)
                break
            if best is None or fix.use < best.use:
                best = fix
    if found:
        return sorted(found, key=lambda fix: (bool(fix.problem), fix.mass))
    return [best] if best is not None else []


def _made(design: BoxDesign, step: Step) -> BoxDesign | None:
    catalogue = design.layout.kit.catalogue.with_row("style", step.style)
    try:
        return generate(design.name, design.layout.ask.model_copy(update=step.ask), catalogue)
    except (CannotBuild, ValueError):  # a step that can't be built is no step
        return None


def _judged(made: BoxDesign, cases: Sequence[LoadCase], member: str) -> tuple[Calculation, Verdict, str] | None:
    done = [one for one in calculations(made, cases) if one.member == member]
    return governing(done) if done else None


def _problem(made: BoxDesign) -> str:
    found = check_box(made)
    if verdict_of(found) != "fail":
        return ""
    first = next(f for f in found if f.verdict == "fail")
    return f"{first.check}: {first.message}"


# --- ladders: the steps of one key, smallest first --------------------------------------------------------------------


def _with(style: Style, key: str, value: Any) -> Style:
    """Return a style with one value changed; a key may lie in a table of the style: "wall.thickness"."""
    head, _, rest = key.partition(".")
    if rest:
        return style.model_copy(update={head: getattr(style, head).model_copy(update={rest: value})})
    return style.model_copy(update={head: value})


def _get(style: Style, key: str) -> Any:
    found: Any = style
    for part in key.split("."):
        found = getattr(found, part)
    return found


def _steps(design: BoxDesign, key: str, values: Sequence[Any], unit: str = "") -> Iterator[Step]:
    style = design.layout.kit.style
    old = _get(style, key)
    for value in values:
        tell = [f"{v:g}{unit}" if isinstance(v, float | int) else str(v) for v in (old, value)]
        yield Step(key, tell[0], tell[1], _with(style, key, value), {})


def _sheet(key: str) -> Ladder:
    """Return the ladder of a sheet's next thicknesses in the shop's stock of its material."""

    def ladder(design: BoxDesign) -> Iterator[Step]:
        catalogue, panel = design.layout.kit.catalogue, _get(design.layout.kit.style, key)
        stock = {
            t
            for name in catalogue.names("sheet")
            if catalogue.sheet(name).material == panel.material
            for t in catalogue.sheet(name).thicknesses
        }
        return _steps(design, f"{key}.thickness", sorted(t for t in stock if t > panel.thickness + 1e-9)[:6], " mm")

    return ladder


def _section(key: str) -> Ladder:
    """Return the ladder of heavier sections of the same shape and material, lightest first."""

    def ladder(design: BoxDesign) -> Iterator[Step]:
        catalogue = design.layout.kit.catalogue
        now = catalogue.section(_get(design.layout.kit.style, key))
        rows = [catalogue.section(name) for name in catalogue.names("section")]
        same = [r for r in rows if (r.shape, r.material) == (now.shape, now.material) and _metal(r) > _metal(now)]
        return _steps(design, key, [r.name for r in sorted(same, key=_metal)][:8])

    return ladder


def _material(key: str) -> Ladder:
    """Return the ladder of the same section in other materials of the shop's stock."""

    def ladder(design: BoxDesign) -> Iterator[Step]:
        catalogue = design.layout.kit.catalogue
        now = catalogue.section(_get(design.layout.kit.style, key))
        rows = [catalogue.section(name) for name in catalogue.names("section")]
        same = [r for r in rows if (r.shape, r.size, r.thickness) == (now.shape, now.size, now.thickness)]
        light = [r.name for r in same if r.name != now.name and catalogue.material(r.material).density < 3000]
        return _steps(design, key, light)

    return ladder


def _metal(row: Section) -> float:
    """Return the area of an angle or a bar, mm²."""
    if row.thickness is None:
        return row.size[0] * row.size[-1]
    return (row.size[0] + row.size[-1] - row.thickness) * row.thickness


def _number(key: str, factors: Sequence[float], unit: str = " mm") -> Ladder:
    """Return the ladder of a number times factors, to the whole millimetre."""

    def ladder(design: BoxDesign) -> Iterator[Step]:
        now = _get(design.layout.kit.style, key)
        return _steps(design, key, [float(round(now * factor)) for factor in factors], unit)

    return ladder


def _screw(key: str) -> Ladder:
    """Return the ladder of the next two larger threads."""

    def ladder(design: BoxDesign) -> Iterator[Step]:
        kit = design.layout.kit
        now = kit.diameter(_get(kit.style, key))
        metric = [n for n in kit.catalogue.names("screw") if n.startswith("M")]
        return _steps(design, key, sorted((n for n in metric if kit.diameter(n) > now), key=kit.diameter)[:2])

    return ladder


def _pitch(design: BoxDesign) -> Iterator[Step]:
    """Return the ladder of smaller pitches of the joint screws; the least pitch comes down with the most."""
    style = design.layout.kit.style
    rule = style.joint_screw
    for most in (60.0, 50.0, 40.0, 30.0):
        if most < rule.pitch_most:
            least = min(rule.pitch_least, most * 0.7)
            screw = rule.model_copy(update={"pitch_most": most, "pitch_least": least})
            new = f"{most:g} mm (pitch_least {least:g} mm)"
            changed = style.model_copy(update={"joint_screw": screw})
            yield Step("joint_screw.pitch_most", f"{rule.pitch_most:g} mm", new, changed, {})


def _feet_walls(design: BoxDesign) -> Iterator[Step]:
    """Return the step to feet along the long walls, in the style's own section or a heavy one, bolts near their leg."""
    style, catalogue = design.layout.kit.style, design.layout.kit.catalogue
    if style.feet.on == "long walls":
        return
    for name in (style.feet.section, "angle-70x70x8-6082", "angle-70x70x10-6082"):
        if name in catalogue.names("section"):
            feet = style.feet.model_copy(update={"on": "long walls", "section": name, "bolt_from_leg": 15.0})
            changed = style.model_copy(update={"feet": feet})
            yield Step("feet.on", style.feet.on, f"long walls ({name}, bolt_from_leg 15 mm)", changed, {})


def _feet_count(design: BoxDesign) -> Iterator[Step]:
    now = design.layout.kit.style.feet.per_wall_least
    return _steps(design, "feet.per_wall_least", [n for n in (3, 4, 5) if n > now])


def _columns(design: BoxDesign) -> Iterator[Step]:
    """Return the ladder of more stacks side by side: the box gets wider and lower, and pulls less on its feet."""
    ask = design.layout.ask
    for n in range(ask.columns + 1, min(3, ask.count) + 1):
        new = f"{n} (see that it fits its bay)"
        yield Step("columns (the box's own)", str(ask.columns), new, design.layout.kit.style, {"columns": n})


_JOINT: tuple[Ladder, ...] = (_pitch, _screw("joint_screw.size"))
_FEET: tuple[Ladder, ...] = (
    _section("feet.section"),
    _number("feet.length", (1.25, 1.5, 1.75, 2.0)),
    _feet_count,
    _feet_walls,
    _material("feet.section"),
    _columns,
)
_LADDERS: dict[str, tuple[Ladder, ...]] = {
    "module hold-downs": (_section("bearer"),),
    "tie rods": (_section("bearer"),),
    "bearers": (_section("bearer"),),
    "bearer ends": (_screw("bearer_screw.size"), _sheet("wall")),
    "ledges": (_section("ledge_angle"), *_JOINT),
    "floor angles under bearers": (_section("floor_angle"), *_JOINT),
    "floor bars": (_section("bearer"), *_JOINT),
    "corner joints": (_section("corner_angle"), *_JOINT),
    "floor joints": (_section("floor_angle"), *_JOINT, _sheet("floor")),
    "floor": (_sheet("floor"),),
    "long walls": (_sheet("wall"), _columns),
    "end walls": (_sheet("wall"),),
    "lid": (_sheet("lid"),),
    "lift lugs": (
        _section("lift.section"),
        _material("lift.section"),
        _number("lift.length", (1.25, 1.5)),
        _screw("lift.screw"),
    ),
    "lid screws": (_number("lid_screw.pitch_most", (0.8, 0.65, 0.5)),),
    "feet, lower leg": _FEET,
    "feet, upright leg": (_screw("feet.screw"), *_FEET),
    "wall and floor at the feet": (_sheet("floor"), _sheet("wall"), _section("floor_angle"), *_FEET[1:]),
    "bolts to the car": (_screw("feet.bolt"), _feet_count, _section("feet.section"), _columns),
}
