"""The workbook: formulas that add up to the bill of materials, prices that count, the same bytes every time."""

import re

import pytest

from baywright.piece.numbering import distinct
from baywright.release.bom import BomLine, bom
from baywright.release.nesting import Nesting
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
    product = re.fullmatch(r"(\w+)\*(\w+)", text)
    if product:
        a, b = (value(pages, page, cell, depth + 1) for cell in product.groups())
        return a * b
    return value(pages, page, text.replace("$", ""), depth + 1)


def test_the_formulas_add_up_to_the_bill(box, lines, tmp_path):
    path = write_workbook({"box front": lines}, None, tmp_path / "bom.xlsx", title="A job", prices={"5754-H22": 10.0})
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
