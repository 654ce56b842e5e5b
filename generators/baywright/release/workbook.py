"""The bill of materials as a workbook: sums and costs are live formulas, so a price typed in counts at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from baywright.job.workshop import Workshop
from baywright.release.bom import BomLine
from baywright.release.nesting import Nesting
from baywright.release.sawing import Bar
from baywright.release.work import Work

NAME = "bom.xlsx"
_CAUTION = "Quantities from geometry; check them before ordering. Prices are the workshop's own."
_HEAD = (
    ("group", 13),
    ("number", 24),
    ("what", 34),
    ("material", 14),
    ("size", 24),
    ("quantity", 10),
    ("unit", 7),
    ("times", 7),
    ("to order", 10),
    ("kg each", 11),
    ("kg", 11),
    ("price each", 11),
    ("cost", 12),
    ("note", 50),
)
_QUANTITY, _TIMES, _ORDER, _EACH, _MASS, _PRICE, _COST = 5, 7, 8, 9, 10, 11, 12


@dataclass(frozen=True, slots=True)
class _Total:
    """Where a page adds up: its name, what it is about, its row of totals (from 0), and what they come to."""

    page: str
    what: str
    row: int
    mass: float | None
    cost: float


def write_workbook(
    bills: Mapping[str, Sequence[BomLine]],
    nesting: Nesting | None,
    path: Path,
    *,
    plan: Sequence[Bar] = (),
    work: Sequence[Work] = (),
    title: str = "",
    workshop: Workshop | None = None,
) -> Path:
    """Write the workbook and return its path: a page for each thing, one for stock and work, one that adds up.

    Prices may be given by a line's number, else by its name, else by its material; what has none is left open to be
    typed in. What is cut from sheets and bars is priced there, for the whole job at once, and not by the piece too.

    Args:
        bills: the bill of materials of each thing, by what it is called ("box front").
        nesting: the sheets that the job's plates are cut from; None leaves them out.
        path: the file.
        plan: the bars that its lengths are sawn from.
        work: what is done to them.
        title: of the job.
        workshop: its currency and prices: each, or per unit of the line.
    """
    from datetime import datetime

    import xlsxwriter

    shop = workshop or Workshop()
    known, currency = dict(shop.prices), shop.currency
    book = xlsxwriter.Workbook(str(path), {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    # A fixed date inside the file: the same job gives the same bytes.
    book.set_properties({"title": title, "created": datetime(2000, 1, 1), "comments": _CAUTION})
    looks = _looks(book)
    book.set_calc_mode("auto")
    sums = book.add_worksheet("all")
    totals: list[_Total] = []
    bars = {bar.stock for bar in plan}
    for name, lines in bills.items():
        label = _label(name, [total.page for total in totals])
        # Bars are bought for the whole job, on the page of stock and work.
        own = [line for line in lines if not (line.unit == "bars" and line.name in bars)]
        totals.append(_box_page(book.add_worksheet(label), label, name, own, known, looks, currency))
    if nesting is not None:
        totals.append(_cut_page(book.add_worksheet("cutting"), nesting, looks, currency, known))
    if plan or work:
        totals.append(_work_page(book.add_worksheet("bars and work"), plan, work, looks, currency, known))
    _sum_page(sums, totals, looks, title, currency)
    unused = sorted(set(known) - _keys(bills, nesting, plan, work))
    if unused:
        sums.write_string(8 + len(totals), 0, f"Prices that nothing in this job bears: {', '.join(unused)}")
    book.close()
    return path


def _keys(
    bills: Mapping[str, Sequence[BomLine]], nesting: Nesting | None, plan: Sequence[Bar], work: Sequence[Work]
) -> set[str]:
    """Return everything that a price may be given for in this job."""
    keys = {key for lines in bills.values() for n in lines for key in (n.number, n.name, n.material)}
    keys |= {"cut metre", "pierce"} | {bar.stock for bar in plan} | {one.key for one in work}
    return keys | {f"sheet {one.stock} {one.thickness:g}" for one in (nesting.sheets if nesting else ())}


def _looks(book: Any) -> dict[str, Any]:
    blue = {"font_color": "#1f5f8b"}
    return {
        "head": book.add_format({"bold": True, "bottom": 2, "text_wrap": True, "valign": "top"}),
        "group": book.add_format({"bold": True, "bg_color": "#e9e2d3"}),
        "mass": book.add_format({"num_format": "0.0000"}),
        "kg": book.add_format({"num_format": "0.000"}),
        "amount": book.add_format({"num_format": "0.##"}),
        "ask": book.add_format({"num_format": "0.00", "bg_color": "#fff7d6", **blue}),
        "count": book.add_format({"num_format": "0", "bg_color": "#fff7d6", **blue}),
        "money": book.add_format({"num_format": "0.00"}),
        "total": book.add_format({"bold": True, "top": 1, "num_format": "0.00"}),
        "totalkg": book.add_format({"bold": True, "top": 1, "num_format": "0.000"}),
        "bold": book.add_format({"bold": True}),
        "big": book.add_format({"bold": True, "font_size": 14}),
        "share": book.add_format({"num_format": "0.0 %"}),
    }


def _label(name: str, taken: Sequence[str]) -> str:
    """Return a page's name: at most 31 letters, none of those that such a name may not have."""
    plain = "".join(c for c in name if c not in "[]:*?/\\'")[:28] or "page"
    number = 2
    label = plain
    while label in taken:
        label, number = f"{plain} {number}", number + 1
    return label


def _price(line: BomLine, prices: Mapping[str, float]) -> float | None:
    return next((prices[key] for key in (line.number, line.name, line.material) if key and key in prices), None)


def _box_page(
    page: Any,
    label: str,
    what: str,
    lines: Sequence[BomLine],
    prices: Mapping[str, float],
    looks: Mapping[str, Any],
    currency: str,
) -> _Total:
    """Write one box's lines with their formulas and return where it adds up."""
    page.freeze_panes(2, 3)
    page.write(0, 0, "How many of it:", looks["bold"])
    page.write(0, _TIMES, 1, looks["count"])
    for column, (head, wide) in enumerate(_HEAD):
        text = f"{head}, {currency}" if currency and head in ("price each", "cost") else head
        page.write(1, column, text, looks["head"])
        page.set_column(column, column, wide)
    row, group = 2, ""
    first = row
    for line in lines:
        if line.group != group:
            group = line.group
            page.write(row, 0, group, looks["group"])
            for column in range(1, len(_HEAD)):
                page.write_blank(row, column, None, looks["group"])
            row += 1
        for column, text in enumerate((line.group, line.number, line.name, line.material, line.size)):
            page.write_string(row, column, text)
        n = row + 1  # rows of formulas count from 1
        page.write_number(row, _QUANTITY, round(line.quantity, 6), looks["amount"])
        page.write_string(row, 6, line.unit)
        page.write_formula(row, _TIMES, "=$H$1", looks["amount"], 1)
        page.write_formula(row, _ORDER, f"=F{n}*H{n}", looks["amount"], round(line.quantity, 6))
        if line.unit_mass is not None and line.mass is not None:
            page.write_number(row, _EACH, round(line.unit_mass, 9), looks["mass"])
            page.write_formula(row, _MASS, f"=I{n}*J{n}", looks["kg"], round(line.unit_mass * line.quantity, 9))
        price = _price(line, prices)
        if price is None:
            page.write_blank(row, _PRICE, None, looks["ask"])
        else:
            page.write_number(row, _PRICE, price, looks["ask"])
        cost = 0.0 if price is None else price * line.quantity
        page.write_formula(row, _COST, f'=IF(L{n}="",0,I{n}*L{n})', looks["money"], round(cost, 6))
        page.write_string(row, 13, line.note)
        row += 1
    page.write(row, 2, "in all", looks["bold"])
    mass = sum(line.mass or 0.0 for line in lines)
    money = sum((_price(line, prices) or 0.0) * line.quantity for line in lines)
    page.write_formula(row, _MASS, f"=SUM(K{first + 1}:K{row})", looks["totalkg"], round(mass, 6))
    page.write_formula(row, _COST, f"=SUM(M{first + 1}:M{row})", looks["total"], round(money, 6))
    page.autofilter(1, 0, row - 1, len(_HEAD) - 1)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.repeat_rows(1)
    return _Total(label, what, row, mass, money)


def _cut_page(
    page: Any, nesting: Nesting, looks: Mapping[str, Any], currency: str, prices: Mapping[str, float]
) -> _Total:
    """Write what drives the cost of cutting, a row a sheet, and return where it adds up."""
    total = 0.0
    head = (
        ("sheet", 18),
        ("material", 14),
        ("thickness mm", 10),
        ("length mm", 10),
        ("width mm", 10),
        ("pieces", 8),
        ("used", 8),
        ("cut m", 9),
        ("pierces", 9),
        (f"sheet price {currency}".strip(), 11),
        (f"per m {currency}".strip(), 9),
        (f"per pierce {currency}".strip(), 10),
        (f"cost {currency}".strip(), 12),
    )
    for column, (text, wide) in enumerate(head):
        page.write(0, column, text, looks["head"])
        page.set_column(column, column, wide)
    for row, one in enumerate(nesting.sheets, 1):
        n = row + 1
        page.write_string(row, 0, one.stock)
        page.write_string(row, 1, one.material)
        for column, value in enumerate((one.thickness, *one.size, len(one.laid)), 2):
            page.write_number(row, column, value, looks["amount"])
        page.write_number(row, 6, round(one.used, 6), looks["share"])
        page.write_number(row, 7, round(one.cut_length / 1000, 4), looks["kg"])
        page.write_number(row, 8, one.pierces)
        cost = 0.0
        for column, key, amount in (
            (9, f"sheet {one.stock} {one.thickness:g}", 1.0),
            (10, "cut metre", one.cut_length / 1000),
            (11, "pierce", one.pierces),
        ):
            if key in prices:
                page.write_number(row, column, prices[key], looks["ask"])
                cost += prices[key] * amount
            else:
                page.write_blank(row, column, None, looks["ask"])
        page.write_formula(row, 12, f"=N(J{n})+H{n}*N(K{n})+I{n}*N(L{n})", looks["money"], round(cost, 6))
        total += cost
    last = len(nesting.sheets) + 1
    page.write(last, 0, "in all", looks["bold"])
    for column, letter, value in (
        (5, "F", sum(len(one.laid) for one in nesting.sheets)),
        (7, "H", sum(one.cut_length for one in nesting.sheets) / 1000),
        (8, "I", sum(one.pierces for one in nesting.sheets)),
    ):
        page.write_formula(last, column, f"=SUM({letter}2:{letter}{last})", looks["total"], round(value, 4))
    page.write_formula(last, 12, f"=SUM(M2:M{last})", looks["total"], round(total, 6))
    for place, text in enumerate(nesting.problems, last + 2):
        page.write_string(place, 0, text)
    page.freeze_panes(1, 1)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    return _Total("cutting", "sheets and cutting", last, None, total)


def _work_page(
    page: Any,
    plan: Sequence[Bar],
    work: Sequence[Work],
    looks: Mapping[str, Any],
    currency: str,
    prices: Mapping[str, float],
) -> _Total:
    """Write bars to buy and work to do, a row a kind, and return where it adds up."""
    head = (
        ("what", 46),
        ("price's name", 16),
        ("how much", 11),
        ("unit", 9),
        ("left over, m", 11),
        ("not used", 9),
        (f"price each {currency}".strip(), 11),
    )
    for column, (text, wide) in enumerate(head):
        page.write(0, column, text, looks["head"])
        page.set_column(column, column, wide)
    # Costs stand in the same column as on the other pages, so that one rule adds them up.
    page.write(0, _COST, f"cost {currency}".strip(), looks["head"])
    page.set_column(7, 11, None, None, {"hidden": True})
    page.set_column(_COST, _COST, 12)
    rows: list[tuple[str, str, float, str, float | None, float | None]] = []
    for stock in dict.fromkeys(bar.stock for bar in plan):
        own = [bar for bar in plan if bar.stock == stock]
        whole, left = sum(b.length for b in own), sum(max(b.left, 0.0) for b in own)
        cut = sum(length for b in own for _, length in b.cuts)
        rows.append((stock, "bar", len(own), f"{own[0].length:g} mm", left / 1000, 1 - cut / whole))
    rows += [(one.what, one.key, one.amount, one.unit, None, None) for one in work]
    total = 0.0
    for row, (what, key, amount, unit, left_over, waste) in enumerate(rows, 1):
        n = row + 1
        page.write_string(row, 0, what)
        page.write_string(row, 1, key)
        page.write_number(row, 2, round(amount, 4), looks["amount"])
        page.write_string(row, 3, unit)
        if left_over is not None and waste is not None:
            page.write_number(row, 4, round(left_over, 3), looks["kg"])
            page.write_number(row, 5, round(waste, 4), looks["share"])
        price = prices.get(what if key == "bar" else key)
        if price is None:
            page.write_blank(row, 6, None, looks["ask"])
        else:
            page.write_number(row, 6, price, looks["ask"])
        cost = (price or 0.0) * amount
        page.write_formula(row, _COST, f"=C{n}*N(G{n})", looks["money"], round(cost, 6))
        total += cost
    last = len(rows) + 1
    page.write(last, 0, "in all", looks["bold"])
    page.write_formula(last, _COST, f"=SUM(M2:M{last})", looks["total"], round(total, 6))
    page.freeze_panes(1, 1)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    return _Total("bars and work", "bars and work", last, None, total)


def _sum_page(page: Any, totals: Sequence[_Total], looks: Mapping[str, Any], title: str, currency: str) -> None:
    """Write the page that adds the others up."""
    page.set_column(0, 0, 34)
    page.set_column(1, 2, 14)
    page.write_string(0, 0, title, looks["big"])
    page.write(1, 0, "Yellow fields are yours to fill in: prices, and how many of each thing. All else follows.")
    for column, text in enumerate(("", "kg", f"cost {currency}".strip())):
        page.write(3, column, text, looks["head"])
    row = 4
    for total in totals:
        page.write_string(row, 0, total.what)
        if total.mass is not None:
            page.write_formula(row, 1, f"='{total.page}'!K{total.row + 1}", looks["kg"], round(total.mass, 6))
        page.write_formula(row, 2, f"='{total.page}'!M{total.row + 1}", looks["money"], round(total.cost, 6))
        row += 1
    page.write(row, 0, "in all", looks["bold"])
    mass = sum(total.mass or 0.0 for total in totals)
    page.write_formula(row, 1, f"=SUM(B5:B{row})", looks["totalkg"], round(mass, 6))
    page.write_formula(row, 2, f"=SUM(C5:C{row})", looks["total"], round(sum(t.cost for t in totals), 6))
    page.write(row + 2, 0, _CAUTION)
