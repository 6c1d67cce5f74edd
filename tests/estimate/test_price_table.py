"""Prices as CSV and as a spreadsheet: out and in again, and no formula on the way."""

from __future__ import annotations

import io

import pytest

from warmside.errors import InputError
from warmside.estimate import (
    COLUMNS,
    default_prices,
    default_text,
    from_csv,
    from_xlsx,
    read_prices,
    to_csv,
    to_xlsx,
)

HEAD = ",".join(COLUMNS)


@pytest.mark.parametrize("currency", ["CAD", "USD"])
def test_out_and_in_again_is_the_same_list(currency: str) -> None:
    text = default_text(currency)
    assert read_prices(from_csv(to_csv(text))) == default_prices(currency)
    pytest.importorskip("openpyxl", reason="in requirements/run.txt, not installed here")
    assert read_prices(from_xlsx(to_xlsx(text))) == default_prices(currency)


def test_columns_may_stand_in_any_order_and_numbers_have_a_comma() -> None:
    text = "value,part,key,unit\n1,head,title,\nCAD,head,currency,\n" + (
        '"0,25",head,mark_up,\n"1,35",material,masking,ft2\n'
    )
    prices = read_prices(from_csv(text))
    row = prices.row("masking")
    assert row is not None
    # a square metre is 10.7639 ft2 (0.09290304 m2 each, exact): 14.53 a square metre
    assert float(row.each) == pytest.approx(1.35 / 0.09290304, rel=1e-12, abs=0)


@pytest.mark.parametrize("evil", ["=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "-2+3", "\t=1"])
def test_no_cell_goes_out_as_a_formula_and_none_comes_in(evil: str) -> None:
    name = evil.replace("\t", " ")
    text = default_text().replace('name = "Plaster"', f"name = '''{name}'''")
    out = to_csv(text)
    cells = [cell for line in out.splitlines() for cell in line.split(",")]
    assert not any(cell.strip('"').startswith(("=", "@", "+c", "-2")) for cell in cells)
    with pytest.raises(InputError, match="no formula"):
        from_csv(f'{HEAD}\nmaterial,plaster,1,m2,,"{evil.strip()}",,,\n')


def test_a_spreadsheet_holds_text_not_formulas() -> None:
    openpyxl = pytest.importorskip("openpyxl", reason="in requirements/run.txt, not installed here")
    text = default_text().replace('name = "Plaster"', "name = '=1+1'")
    sheet = openpyxl.load_workbook(io.BytesIO(to_xlsx(text))).active
    kinds = {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value is not None}
    assert kinds <= {"s", "n"}
    with pytest.raises(InputError, match="no formula"):
        from_xlsx(to_xlsx(text))
    book = openpyxl.Workbook()
    book.active.append(COLUMNS)
    book.active.append(("material", "plaster", "=2+3", "m2"))
    out = io.BytesIO()
    book.save(out)
    with pytest.raises(InputError, match="no formula"):
        from_xlsx(out.getvalue())


@pytest.mark.parametrize("bad", [b"", b"PK\x03\x04", b"no spreadsheet", b"\x00" * 2_000_000])
def test_what_is_no_spreadsheet_is_refused(bad: bytes) -> None:
    pytest.importorskip("openpyxl", reason="in requirements/run.txt, not installed here")
    with pytest.raises(InputError, match="price table"):
        from_xlsx(bad)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "a line of headers"),
        ("a,b\n", "a line of headers"),
        (f"{HEAD}\nnowhere,x,1\n", "line 2: price table, x"),
        (f"{HEAD}\nmaterial,,1\n", "and a key"),
        (f"{HEAD}\n" + "material,x,1\n" * 3000, "up to 2000"),
        ("x" * 1_000_001, "up to 1000000"),
    ],
)
def test_tables_that_cannot_be_read(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        from_csv(text)


def test_faults_of_the_values_are_those_of_the_file() -> None:
    text = f"{HEAD}\nhead,title,Ours\nhead,currency,CAD\nhead,mark_up,a lot\nmaterial,plaster,,m2\n"
    with pytest.raises(InputError) as told:
        read_prices(from_csv(text))
    places = {fault.place for fault in told.value.faults}
    assert places == {"mark_up", "material.plaster, price"}
