"""From files to patterns: readings files, and the catalogue's rows with their circles, drawings and readings."""

from pathlib import Path

from baywright.adapter.measured import IN_95, Measured, measure
from baywright.adapter.readings import How, Layout, Reading
from baywright.adapter.survey import Walk
from baywright.adapter.thread import Thread, is_thread, thread_of, threads
from baywright.job.catalogue import Catalogue
from baywright.job.messages import BadInput, Problem, shown, unknown
from baywright.job.patterns import (
    HoleMake,
    PatternRow,
    PilotRow,
    ReadingsFile,
    Several,
    pair_of,
    read_readings,
    sigma_of,
)
from baywright.shape.pattern import Pattern, PatternHole, Pilot, bolt_circle, evenly


def layout_of(file: ReadingsFile) -> Layout:
    """Return a readings file's readings, in its order, each with the label that messages use."""
    out: list[Reading] = []

    def add(how: How, values: Several, first: str, second: str, label: str) -> None:
        for number, value in enumerate(values, 1):
            text = f"{label} ({number})" if len(values) > 1 else label
            sigma = sigma_of(value, file.uncertainty)
            out.append(Reading(how=how, first=first, second=second, value=value.value, sigma=sigma, label=text))

    tables: tuple[tuple[How, dict[str, Several]], ...] = (
        ("centre", file.centre),
        ("inside", file.inside),
        ("outside", file.outside),
    )
    for how, table in tables:
        for key, values in table.items():
            first, second = pair_of(key)
            add(how, values, first, second, f"{how} {first}-{second}")
    for name, values in file.diameter.items():
        add("diameter", values, name, "", f"diameter {name}")
    for edge, rows in file.edges.items():
        kinds: tuple[tuple[How, str, dict[str, Several]], ...] = (
            ("edge", "centre", rows.centre),
            ("edge near", "near side", rows.near),
            ("edge far", "far side", rows.far),
        )
        for how, text, table in kinds:
            for name, values in table.items():
                add(how, values, name, edge, f"{edge} edge to {name} {text}")
    for scan, points in file.points.items():
        for name, at in points.centre.items():
            label = f"{scan} point {name}"
            out.append(Reading(how="point", first=name, second=scan, at=at, sigma=points.uncertainty, label=label))
        for name, rim in points.rim.items():
            for number, at in enumerate(rim, 1):
                label = f"{scan} rim of {name}, point {number}"
                out.append(Reading(how="rim", first=name, second=scan, at=at, sigma=points.uncertainty, label=label))
    return Layout(readings=tuple(out), square=file.square_edges)


def measured_of(file: ReadingsFile) -> Measured:
    """Return the measured pattern of a readings file.

    Raises:
        ValueError: if the readings cannot be laid out; the sentence says what to measure or to change.
    """
    holes, clockwise, side = file.walking
    walk = Walk(holes=holes, clockwise=clockwise == (side == file.seen_from))
    return measure(file.name, layout_of(file), walk, seen_from=file.seen_from, level=file.level)


def read_measured(path: Path, catalogue: Catalogue) -> tuple[ReadingsFile, Measured]:
    """Return a readings file and its measured pattern.

    Raises:
        BadInput: if the file is wrong, its bolts' thread is not known, or its readings cannot be laid out.
    """
    file = read_readings(path)
    if not is_thread(catalogue, file.holes.thread):
        text = unknown("thread", file.holes.thread, threads(catalogue))
        raise BadInput([Problem(shown(path), None, "holes.thread", text)])
    try:
        return file, measured_of(file)
    except ValueError as error:
        raise BadInput([Problem(shown(path), None, "", str(error))]) from None


def pattern_of_readings(file: ReadingsFile, measured: Measured, catalogue: Catalogue) -> Pattern:
    """Return the pattern that was measured; each hole's position zone holds its axis 19 times in 20."""
    thread = thread_of(catalogue, file.holes.thread)
    found = []
    for hole in measured.holes:
        dowel = hole.name in file.holes.dowels
        if dowel:
            diameter = file.holes.dowel_diameter or hole.diameter or 0.0
        else:
            diameter = hole.diameter or _hole_diameter(file.holes.kind, thread)
        found.append(
            PatternHole(
                name=hole.name,
                x=hole.x,
                y=hole.y,
                kind="dowel" if dowel else file.holes.kind,
                thread="" if dowel else file.holes.thread,
                diameter=thread.diameter if file.holes.kind == "tapped" and not dowel else diameter,
                position=2 * IN_95 * hole.long,
            )
        )
    return Pattern(
        name=file.description or file.name,
        holes=tuple(found),
        pilot=_pilot(file.pilot),
        seen_from=measured.seen_from,
        outer=file.outer,
        source=file.source,
    )


def pattern_of(catalogue: Catalogue, name: str) -> Pattern:
    """Return a pattern of the catalogue, whatever it is given as.

    Raises:
        BadInput: if there is none, its row or a file it names is wrong, or two of its holes have one name.
    """
    row = catalogue.row("pattern", name)
    assert isinstance(row, PatternRow)
    raw = catalogue.raw["pattern"][name]
    if row.readings is not None:
        file, measured = read_measured(raw.file.parent / row.readings, catalogue)
        return pattern_of_readings(file, measured, catalogue)
    holes: list[PatternHole] = []
    for circle in row.circles:
        clocks = circle.clocks if circle.clocks is not None else evenly(circle.count or 1, circle.first)
        holes += bolt_circle(
            circle.circle,
            clocks,
            kind=circle.kind,
            thread=circle.thread,
            hole=_made(circle, catalogue),
            position=circle.position,
            depth=circle.depth,
            first=1 + (0 if circle.prefix else len(holes)),
            prefix=circle.prefix or ("D" if circle.kind == "dowel" else ""),
        )
    holes += [
        PatternHole(
            name=one.name,
            x=one.at[0],
            y=one.at[1],
            kind=one.kind,
            thread=one.thread,
            diameter=_made(one, catalogue),
            position=one.position,
            depth=one.depth,
        )
        for one in row.holes
    ]
    if row.dxf is not None:
        from baywright.adapter.drawing import circles_of

        holes += circles_of(row.dxf, raw.file.parent, lambda make, wide: _made(make, catalogue) or wide)
    names = [h.name for h in holes]
    twice = next((n for n in names if names.count(n) > 1), None)
    if twice is not None:
        text = f"two holes are called '{twice}': give one of the circles a prefix"
        raise BadInput([Problem(shown(raw.file), raw.lines.get((name,)), name, text)])
    return Pattern(
        name=row.description or name,
        holes=tuple(holes),
        pilot=_pilot(row.pilot),
        seen_from=row.seen_from,
        outer=row.outer,
        run_out=row.run_out,
        source=row.source,
    )


def _made(make: HoleMake, catalogue: Catalogue) -> float:
    """Return a hole's diameter in mm: stated, or its thread's major diameter or medium clearance."""
    if make.diameter or make.kind == "dowel":
        return make.diameter
    return _hole_diameter(make.kind, thread_of(catalogue, make.thread))


def _hole_diameter(kind: str, thread: Thread) -> float:
    return thread.diameter if kind == "tapped" else thread.row.clearance.medium


def _pilot(row: PilotRow | None) -> Pilot | None:
    if row is None:
        return None
    return Pilot(male=row.male, diameter=row.diameter, fit=row.fit, height=row.height, limits=row.limits)
