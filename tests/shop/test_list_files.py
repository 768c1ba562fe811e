"""Files with lists: spreadsheets are read with suspicion, CSV in the encodings that occur."""

import io
import zipfile
from contextlib import suppress
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from portal.craft.messages import CraftError
from portal.shop.lists.spreadsheet import (
    MOST_BYTES,
    is_spreadsheet,
    read_spreadsheet,
    write_spreadsheet,
)
from portal.shop.lists.table_text import MOST_LINES, decode, read_table

LINES = [["Size", "Größe"], ["8,5J x 18", "=1+1"]]


def saved(*rows: list[object]) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def package(entries: dict[str, bytes]) -> bytes:
    """Return a spreadsheet whose entries are replaced, or added."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(saved(["a"]))) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in {*old.namelist(), *entries}:
            new.writestr(name, entries[name] if name in entries else old.read(name))
    return out.getvalue()


def test_what_is_written_is_read_back_and_no_formula_is_worked_out() -> None:
    data = write_spreadsheet("List", LINES)
    assert is_spreadsheet(data)
    assert [list(line) for line in read_spreadsheet(data)] == LINES


def test_numbers_and_days_of_a_spreadsheet_are_read_as_people_write_them() -> None:
    table = read_spreadsheet(saved([4, 4.0, 8.5, datetime(2026, 6, 20), None, True]))  # noqa: DTZ001  # as a sheet has it
    assert table == (("4", "4", "8.5", "2026-06-20", "", "True"),)


def test_a_formula_without_a_kept_value_is_an_empty_cell() -> None:
    assert read_spreadsheet(saved(["x", "=1+1"])) == (("x",),)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    read_table(decode(data))
    for one in (data, b"PK\x03\x04" + data):
        with pytest.raises(CraftError):
            read_spreadsheet(one)


@given(st.integers(0, 4000), st.integers(0, 255))
def test_a_damaged_spreadsheet_is_read_or_refused(at: int, byte: int) -> None:
    data = bytearray(saved(["a", "b"]))
    data[at % len(data)] = byte
    with suppress(CraftError):
        read_spreadsheet(bytes(data))


def test_a_small_file_that_unpacks_to_a_large_one_is_refused() -> None:
    bomb = package({"xl/worksheets/sheet1.xml": b"<a>" + b" " * 50_000_000 + b"</a>"})
    assert len(bomb) < MOST_BYTES
    with pytest.raises(CraftError):
        read_spreadsheet(bomb)


def test_a_file_of_more_than_a_megabyte_is_refused() -> None:
    with pytest.raises(CraftError):
        read_spreadsheet(b"PK" + b"\0" * MOST_BYTES)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_file_with_a_document_type_is_refused(encoding: str) -> None:
    laughs = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "ha">]><x>&a;</x>'
    with pytest.raises(CraftError):
        read_spreadsheet(package({"xl/sharedStrings.xml": laughs.encode(encoding)}))


def test_a_sheet_that_claims_to_be_endless_is_cut() -> None:
    far = (
        '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        '<dimension ref="A1:XFD1048576"/><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>x</t>'
        '</is></c></row><row r="1048576"><c r="XFD1048576" t="inlineStr"><is><t>y</t></is></c>'
        "</row>"
        "</sheetData></worksheet>"
    )
    assert read_spreadsheet(package({"xl/worksheets/sheet1.xml": far.encode()})) == (("x",),)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_csv_is_read_in_the_encodings_that_spreadsheets_write(encoding: str) -> None:
    assert read_table(decode("Größe;Anzahl\n18;4".encode(encoding)))[0] == ("Größe", "Anzahl")


def test_a_long_text_is_cut() -> None:
    assert len(read_table("a\n" * 10_000)) == MOST_LINES
