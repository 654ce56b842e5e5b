"""The workbook: formulas that add up to the bill of materials, prices that count, the same bytes every time."""

import re

import pytest

from baywright.job.workshop import Workshop
from baywright.piece.numbering import distinct
from baywright.release.bom import BomLine, bom
from baywright.release.nesting import Nesting
from baywright.release.sawing import saw_plan
from baywright.release.work import Work, work_of
from baywright.release.workbook import write_workbook

openpyxl = pytest.importorskip("openpyxl")


@pytest.fixture
def lines(box):
    return bom(box, distinct(box))


def value(pages, page, cell, depth=0):
    """Return a cell's value, its formula worked out here: sums, products, references, IF of an empty price."""
    assert depth < 20
    found = pages[page][cell].value
    if not (isinstance(found, str) and found.startswith("=")):
        return found
    text = found[1:]
    total = re.fullmatch(r"SUM\(([A-Z]+)(\d+):([A-Z]+)(\d+)\)", text)
    if total:
        column, first, _, last = total.groups()
        cells = [value(pages, page, f"{column}{n}", depth + 1) for n in range(int(first), int(last) + 1)]
        return sum(c for c in cells if isinstance(c, int | float))
    priced = re.fullmatch(r'IF\((\w+)="",0,(\w+)\*(\w+)\)', text)
    if priced:
        price, *factors = (value(pages, page, cell, depth + 1) for cell in priced.groups())
        return 0 if price in (None, "") else factors[0] * factors[1]
    other = re.fullmatch(r"'?([^'!]+)'?!(\w+)", text)
    if other:
        return value(pages, *other.groups(), depth + 1)
    priced_work = re.fullmatch(r"(\w+)\*N\((\w+)\)", text)
    if priced_work:
        a, b = (value(pages, page, cell, depth + 1) for cell in priced_work.groups())
        return a * (b or 0)
    product = re.fullmatch(r"(\w+)\*(\w+)", text)
    if product:
        a, b = (value(pages, page, cell, depth + 1) for cell in product.groups())
        return a * b
    return value(pages, page, text.replace("$", ""), depth + 1)


def test_the_formulas_add_up_to_the_bill(box, lines, tmp_path):
    path = write_workbook(
        {"box front": lines}, None, tmp_path / "bom.xlsx", title="A job", workshop=Workshop(prices={"5754-H22": 10})
    )
    pages = openpyxl.load_workbook(path)
    page = pages["box front"]
    last = next(row for row in range(3, page.max_row + 1) if page.cell(row, 3).value == "in all")
    assert value(pages, "box front", f"K{last}") == pytest.approx(box.mass_properties.mass, rel=1e-6)
    panels = sum(n.quantity for n in lines if n.material == "5754-H22")
    assert value(pages, "box front", f"M{last}") == pytest.approx(10 * panels)
    assert value(pages, "all", "B6") == pytest.approx(box.mass_properties.mass, rel=1e-6)
    # What a reader without a calculator of its own shows is the same.
    shown = openpyxl.load_workbook(path, data_only=True)
    assert shown["all"]["B6"].value == pytest.approx(box.mass_properties.mass, rel=1e-6)
    assert shown["all"]["C6"].value == pytest.approx(10 * panels)


def test_more_boxes_make_more_of_everything(lines, tmp_path):
    path = write_workbook({"box front": lines}, None, tmp_path / "bom.xlsx")
    pages = openpyxl.load_workbook(path)
    page = pages["box front"]
    last = next(row for row in range(3, page.max_row + 1) if page.cell(row, 3).value == "in all")
    before = value(pages, "box front", f"K{last}")
    page["H1"] = 3
    assert value(pages, "box front", f"K{last}") == pytest.approx(3 * before)


def test_words_from_the_job_are_never_formulas(tmp_path):
    evil = [BomLine(group="=1+1", number="", name='=HYPERLINK("http://x")', quantity=1.0, unit_mass=1.0, mass=1.0)]
    path = write_workbook({"=cmd": evil, "a/b:c": evil}, None, tmp_path / "bom.xlsx", title="=2+2")
    pages = openpyxl.load_workbook(path)
    for page in pages:
        for row in page.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    assert re.match(r"=('|SUM|IF|\$|[A-Z]+\d+\*)", cell.value), cell.value


def test_the_same_bill_gives_the_same_bytes(lines, tmp_path):
    nothing = Nesting((), ("a piece found no place",))
    one = write_workbook({"box front": lines, "box rear": lines}, nothing, tmp_path / "one.xlsx", title="A job")
    two = write_workbook({"box front": lines, "box rear": lines}, nothing, tmp_path / "two.xlsx", title="A job")
    assert one.read_bytes() == two.read_bytes()


def test_bars_and_work_bear_prices_once(box, lines, tmp_path):
    parts = distinct(box)
    plan = saw_plan(parts)
    work = work_of([box], parts, plan)
    screws = next(one.amount for one in work if one.key == "screw driven")
    assert screws == sum(len(line.points) for line in box.lines)
    shop = Workshop(prices={"angle 25x25x3": 20, "screw driven": 0.5, "gold": 9}, currency="EUR")
    path = write_workbook({"box front": lines}, None, tmp_path / "b.xlsx", plan=plan, work=work, workshop=shop)
    pages = openpyxl.load_workbook(path)
    page = pages["bars and work"]
    last = next(row for row in range(2, page.max_row + 1) if page.cell(row, 1).value == "in all")
    wanted = 20 * len(plan) + 0.5 * screws
    assert value(pages, "bars and work", f"M{last}") == pytest.approx(wanted)
    # On the box's own page the bars are not priced again.
    assert not any(cell.value == "bars" for cell in pages["box front"]["G"])
    assert value(pages, "all", "C7") == pytest.approx(wanted)
    assert openpyxl.load_workbook(path, data_only=True)["all"]["C7"].value == pytest.approx(wanted)
    said = [cell.value for cell in pages["all"]["A"] if cell.value]
    assert any("gold" in text and "screw" not in text for text in said)


def test_work_is_counted_by_hand(box):
    """The small box: 8 angles sawn, all their holes drilled, and so on, counted on the pieces themselves."""
    parts = distinct(box)
    found = {one.key: one for one in work_of([box], parts, saw_plan(parts))}
    assert isinstance(found["saw cut"], Work)
    assert found["saw cut"].amount == 8
    pieces = [item.piece for item in box.placed]
    tapped = sum(hole.use == "tapped" for piece in pieces for hole in getattr(piece, "holes", ()))
    assert found["tapped hole"].amount == tapped == found["drilled hole"].amount
