"""The inspector's sheets: what was reckoned and on whose word, what was found, papers wanted, what is not said."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from baywright.finding import Finding
from baywright.job.loads import DIRECTIONS
from baywright.piece.bought import Bought
from baywright.piece.numbering import Part, slug
from baywright.release.cautions import CAUTIONS
from baywright.release.drawing import dims
from baywright.release.drawing.paper import GREY, THICK, THIN, Sheet, write_pdf
from baywright.release.steps.pages import PAGE, wrapped
from baywright.review import Review

if TYPE_CHECKING:
    from baywright.rail.design import RailDesign

_LEFT, _RIGHT, _TOP, _FOOT = 18.0, 200.0, 283.0, 16.0
_WIDE = _RIGHT - _LEFT
_WORDS = {"fail": "FAILS", "look": "look", "pass": "holds"}


class _Pages:
    """Pages that are filled from the top down."""

    def __init__(self, title: str, job: str, revision: str) -> None:
        self.title, self.job, self.revision = title, job, revision
        self.pages: list[Sheet] = []
        self.y = 0.0
        self._turn()

    def _turn(self) -> None:
        sheet = Sheet(*PAGE, title=self.title)
        sheet.text(_LEFT, _TOP - 4, self.title, 4.2, bold=True, most=118)
        sheet.text(_RIGHT, _TOP - 4, f"{self.job}, revision {self.revision}", 2.3, "end", most=60)
        sheet.text(_RIGHT, _FOOT - 7, f"page {len(self.pages) + 1}", 2.0, "end")
        sheet.line([(_LEFT, _TOP - 8), (_RIGHT, _TOP - 8)], THICK)
        self.pages.append(sheet)
        self.y = _TOP - 14

    def room(self, high: float) -> None:
        """Turn the page unless there is so much room left, mm."""
        if self.y - high < _FOOT:
            self._turn()

    def heading(self, text: str) -> None:
        """Write a heading, with room for something under it."""
        self.room(30)
        self.pages[-1].text(_LEFT, self.y - 4, text, 3.2, bold=True)
        self.pages[-1].line([(_LEFT, self.y - 5.6), (_RIGHT, self.y - 5.6)], THIN)
        self.y -= 10

    def text(self, text: str, height: float = 2.3, bold: bool = False) -> None:
        """Write a paragraph."""
        for part in wrapped(text, height * (1.07 if bold else 1.0), _WIDE):
            self.room(height * 1.8)
            self.pages[-1].text(_LEFT, self.y - height, part, height, bold=bold)
            self.y -= height * 1.75
        self.y -= 1.2

    def table(self, head: Sequence[str], rows: Sequence[Sequence[str]], widths: Sequence[float]) -> None:
        """Write a table, over as many pages as it takes."""
        left = list(rows)
        while left:
            self.room(14)
            fit = max(int((self.y - _FOOT) / 3.9) - 1, 1)
            self.y = dims.table(self.pages[-1], _LEFT, self.y, head, left[:fit], widths, height=1.9, pitch=3.9) - 4
            left = left[fit:]

    def fields(self, names: Sequence[str]) -> None:
        """Draw fields to fill in by hand, three in a row."""
        wide, high = _WIDE / 3, 14.0
        for place, name in enumerate(names):
            column = place % 3
            if column == 0:
                self.room(high)
                self.y -= high
            self.pages[-1].box(_LEFT + column * wide, self.y, wide, high, GREY)
            self.pages[-1].text(_LEFT + column * wide + 1.3, self.y + high - 3.2, name, 1.9, most=wide - 2.6)
        self.y -= 4


def inspection_pages(reviewed: Review, parts: Mapping[str, Sequence[Part]]) -> list[Sheet]:
    """Return the inspector's pages of a job.

    Args:
        reviewed: the review.
        parts: the distinct parts of each box, adapter and set of rails that is released, by its name.
    """
    job = reviewed.design.job
    pages = _Pages("For the inspector", job.asked.job.title or job.name, job.asked.job.revision)
    pages.text(
        "Geometry and arithmetic from the job file named below. Nothing here approves a vehicle: a licensed engineer"
        " checks it, adds what is missing and signs; local codes and the inspector have the last word.",
        2.5,
        bold=True,
    )
    pages.text(f"Job file: {job.path.name}, SHA-256 {job.digest}")
    by = _Sources()
    _open_points(pages, reviewed)
    _loads(pages, reviewed, by)
    _strength(pages, reviewed, by)
    _vehicle(pages, reviewed)
    _added(pages, reviewed)
    _tight(pages, reviewed, by)
    by.write(pages)
    _papers(pages, parts)
    pages.heading("Cautions")
    for number, text in enumerate(CAUTIONS, 1):
        pages.text(f"{number}. {text}", 2.0)
    pages.heading("Signed")
    pages.fields(["engineer, licence number", "signature", "date", "inspector", "signature", "date"])
    return pages.pages


class _Sources:
    """Whose word figures rest on, numbered in the order in which they are first named."""

    def __init__(self) -> None:
        self.numbers: dict[str, int] = {}

    def number(self, source: str) -> str:
        """Return a source's number, as tables name it."""
        return f"[{self.numbers.setdefault(source, len(self.numbers) + 1)}]" if source else ""

    def write(self, pages: _Pages) -> None:
        """List every source by its number."""
        pages.heading("Limits and figures rest on")
        for source, number in self.numbers.items():
            pages.text(f"[{number}]  {source}", 2.0)


def _open_points(pages: _Pages, reviewed: Review) -> None:
    """Say first what does not simply hold."""
    rest = [f for f in reviewed.findings if f.verdict != "pass"]
    passed = len(reviewed.findings) - len(rest)
    pages.heading("What does not simply hold")
    for f in rest:
        pages.text(f"{_WORDS[f.verdict]}. {f.subject}, {f.check}: {f.message}", 2.2)
    pages.text(f"{len(rest)} listed, {passed} hold; review.json has them all with values, limits, places and sources.")


def _loads(pages: _Pages, reviewed: Review, by: _Sources) -> None:
    """List the load cases and the bases on which strength is judged."""
    job = reviewed.design.job
    cases = job.load_cases
    pages.heading("Loads")
    rows: list[tuple[str, ...]] = []
    for case in cases:
        thrown = ", ".join(f"{way} {g:g}" for way in DIRECTIONS if (g := getattr(case, way)) is not None)
        heat = f"{case.temperature:g} °C"
        rows.append((case.name, case.kind, thrown, f"{case.load_factor:g}", heat, case.basis, by.number(case.source)))
    head = ("load case", "kind", "thrown, g", "factor", "adhesive at", "judged by", "by")
    pages.table(head, rows, (28.0, 16.0, 74.0, 13.0, 18.0, 23.0, 10.0))
    for name in dict.fromkeys(case.basis for case in cases):
        row = job.catalogue.basis(name)
        pages.text(
            f"{row.name}: {row.strengths} strengths, divided by {row.on_yield:g} on yield, {row.on_ultimate:g} on"
            " rupture,"
            f" {row.on_fastener:g} for screws and bolts, {row.on_bond:g} for bonds. {by.number(row.source)}",
            2.1,
        )
    for remark in dict.fromkeys(text for case in cases for text in case.remarks):
        pages.text(f"Note: {remark}", 2.1)
    for name, rails in reviewed.design.rails.items():
        _rail_loads(pages, name, rails, by)


def _rail_loads(pages: _Pages, name: str, rails: "RailDesign", by: _Sources) -> None:
    """List the load cases of a set of rails, and what its strength figures rest on."""
    from baywright.job.rails import CASES_SOURCE
    from baywright.rail.loads import reaction
    from baywright.rail.rules import assumptions

    held, source = reaction(rails.given), by.number(CASES_SOURCE)
    told = {"none": "-", "drive": f"{held.torque:.0f} N·m, both ways", "reverse": f"{held.torque:.0f} N·m, both ways"}
    factor = f"{rails.ask.shop.load_factor:g}"
    pages.text(f"Motor rails {name}: motor, rails and what hangs on their mounts, {rails.unit.mass:.1f} kg.", 2.3)
    rows = [(c.name, *(f"{g:g}" for g in c.felt), told[c.torque], factor, source) for c in rails.ask.loads]
    head = ("load case", "X, g", "Y, g", "Z, g", f"torque about {held.about}", "factor", "by")
    pages.table(head, rows, (40.0, 18.0, 18.0, 18.0, 55.0, 18.0, 15.0))
    for text in assumptions(rails):
        pages.text(text, 2.1)


def _strength(pages: _Pages, reviewed: Review, by: _Sources) -> None:
    pages.heading("Strength: the worst of each check")
    found = reviewed.strength
    if not found:
        pages.text(
            "NO STRENGTH CHECK IS PART OF THIS REVIEW. Load cases, bonds, screws, feet and what they are bolted to are"
            " for the engineer to check.",
            2.5,
            bold=True,
        )
        return
    kept = [f for f in found if f.verdict != "pass" or f.margin is not None]
    pages.table(_FINDING_HEAD, _rows(kept, by), _FINDING_WIDTHS)
    pages.text("Each with its load case in review.json; `baywright why` gives it line by line, with symbols.")


_FINDING_HEAD = ("", "of", "check", "of so many", "found", "limit", "spare", "by")
_FINDING_WIDTHS = (13.0, 36.0, 54.0, 14.0, 21.0, 21.0, 14.0, 9.0)


def _rows(findings: Sequence[Finding], by: _Sources) -> list[tuple[str, ...]]:
    """Return a row for each kind of check of each thing, the worst one's figures, worst first as they come."""
    kinds: dict[tuple[str, str], list[Finding]] = {}
    for f in findings:
        kinds.setdefault((f.subject, f.check), []).append(f)
    rows: list[tuple[str, ...]] = []
    for (subject, check), some in kinds.items():
        f = some[0]
        rows.append(
            (
                _WORDS[f.verdict],
                subject,
                check,
                f"{len(some)}" if len(some) > 1 else "",
                _figure(f.value, f.unit),
                _figure(f.limit, f.unit),
                "" if f.margin is None or abs(f.margin) > 99 else f"{100 * f.margin + 0.0:+.0f} %",
                by.number(f.source),
            )
        )
    return rows


def _figure(value: float | None, unit: str) -> str:
    """Return a value to four figures with its unit, thousands apart."""
    if value is None:
        return ""
    text = f"{value:.4g}"
    return f"{float(text):,.0f}".replace(",", " ") + f" {unit}" if "e+" in text else f"{text} {unit}".rstrip()


def _tight(pages: _Pages, reviewed: Review, by: _Sources) -> None:
    """List what holds with less than half to spare, strength apart."""
    own = {id(f) for f in reviewed.strength}
    tight = [
        f
        for f in reviewed.findings
        if f.verdict == "pass" and f.margin is not None and f.margin < 0.5 and id(f) not in own
    ]
    if tight:
        pages.heading("The tightest that hold")
        pages.table(_FINDING_HEAD, _rows(tight, by), _FINDING_WIDTHS)


def _vehicle(pages: _Pages, reviewed: Review) -> None:
    whole = reviewed.balance
    pages.heading("The vehicle")
    states = (whole.before, whole.stripped, whole.after, *whole.laden)[:6]
    rows: list[tuple[str, ...]] = []
    for name, values, digits in (
        ("mass, kg", [s.mass for s in states], 1),
        ("front axle, kg", [s.front for s in states], 1),
        ("rear axle, kg", [s.rear for s in states], 1),
        ("front share, %", [s.front_share for s in states], 1),
        ("left share, %", [s.left_share for s in states], 1),
        ("centroid behind the front axle, mm", [s.x for s in states], 0),
        ("centroid right of the middle, mm", [s.y for s in states], 0),
        ("centroid above ground, mm", [s.z for s in states], 0),
    ):
        rows.append((name, *("not known" if v is None else f"{round(v, digits) + 0.0:.{digits}f}" for v in values)))
    pages.table(("", *(s.name for s in states)), rows, (62.0, *([120.0 / len(states)] * len(states))))
    ratings = reviewed.design.job.car.ratings
    pages.text(
        f"Rated: front axle {ratings.front_axle:g} kg, rear axle {ratings.rear_axle:g} kg, gross {ratings.gross:g} kg"
        f" (the car's plate). Weighed: {reviewed.design.job.car.weighed.state}."
    )


def _added(pages: _Pages, reviewed: Review) -> None:
    pages.heading("What was added")
    rows: list[tuple[str, ...]] = []
    feet = {
        f"box {name}": f"{sum(len(foot.bolts) for foot in box.feet)} × {box.layout.kit.style.feet.bolt}"
        for name, box in reviewed.design.boxes.items()
    }
    for name, there in reviewed.design.carried:
        inertia = there.inertia.diagonal() * 1e-6
        place = [f"{v:.0f}" for v in there.centroid]
        rows.append((name, f"{there.mass:.1f}", *place, *(f"{v:.2f}" for v in inertia), feet.get(name, "")))
    for item in reviewed.balance.added:
        if item.body is None:
            place = ["not known" if v is None else f"{v:.0f}" for v in (item.x, item.y, item.z)]
            rows.append((item.name, f"{item.mass:.1f}", *place, "", "", "", ""))
    head = ("thing", "kg", "X", "Y", "Z", "Ixx kg·m²", "Iyy", "Izz", "bolted by")
    pages.table(head, rows, (56.0, 15.0, 15.0, 15.0, 15.0, 18.0, 14.0, 14.0, 20.0))
    pages.text(
        "Centroids in the vehicle's frame (X behind the front axle, Y right, Z up; mm); inertia about each thing's"
        " own centroid along the vehicle's axes."
    )


def _papers(pages: _Pages, parts: Mapping[str, Sequence[Part]]) -> None:
    """List the certificates and logs wanted, from what the boxes are made of."""
    pages.heading("Papers wanted")
    metals: dict[str, set[str]] = {}
    screws: set[str] = set()
    modules: set[str] = set()
    for some in parts.values():
        for part in some:
            piece = part.piece
            if isinstance(piece, Bought):
                if piece.group == "screws":
                    screws.add(piece.name)
                elif piece.role == "module":
                    modules.add(piece.name)
            else:
                stock = getattr(piece, "stock", None)
                form = stock.name if stock is not None else f"{piece.thickness:g} mm"
                metals.setdefault(piece.material, set()).add(form)
    rows = [
        (f"{name}: {', '.join(sorted(forms))}", "mill certificate, EN 10204 3.1", "")
        for name, forms in sorted(metals.items())
    ]
    rows += [(name, "property class on head or packet", "") for name in sorted(screws)]
    rows += [(name, "maker's sheet, transport test (UN 38.3), serial numbers", "") for name in sorted(modules)]
    rows += [
        ("adhesive", "maker's sheet, batch, coupons' results, step sheets filled in", ""),
        ("earth links", "log of step sheets, each below 0.1 Ω", ""),
        ("insulation", "measured by a trained person before first connection", ""),
        ("weighing", "tickets before and after", ""),
    ]
    pages.table(("of", "what", "seen"), rows, (96.0, 70.0, 16.0))


def write_inspection(reviewed: Review, parts: Mapping[str, Sequence[Part]], folder: Path) -> Path:
    """Write the inspector's sheets as a PDF into a release's folder and return its path."""
    job = reviewed.design.job
    title = f"{job.asked.job.title or job.name}: for the inspector, revision {job.asked.job.revision}"
    return write_pdf(
        inspection_pages(reviewed, parts), folder / f"inspector_rev{slug(job.asked.job.revision)}.pdf", title
    )
