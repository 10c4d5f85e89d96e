"""Papers asked for at the desk: files of their kind, under a name of their own, refused by name where there are none."""

from __future__ import annotations

import io

import openpyxl
import pytest
from pypdf import PdfReader


@pytest.mark.parametrize(
    "path",
    ["/paper/sheet/axle@2.pdf", "/paper/sheet/wheel.pdf?paper=a4", "/paper/set-ups.pdf", "/paper/record.pdf",
     "/paper/cutting.pdf", "/paper/buying.pdf?paper=a5"],
)  # fmt: skip
def test_a_paper_is_a_pdf_that_is_shown(at_demo, path):
    answer = at_demo.get(path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"].startswith("inline")
    assert len(PdfReader(io.BytesIO(answer.content)).pages) >= 1


def test_lists_come_as_files_for_other_programs(at_demo):
    assert at_demo.get("/paper/buying.csv").content.decode("utf-8-sig").startswith("material,")
    book = openpyxl.load_workbook(io.BytesIO(at_demo.get("/paper/cutting.xlsx").content))
    assert book.sheetnames == ["cutting", "notes"]


@pytest.mark.parametrize(
    ("path", "said"),
    [("/paper/cutting.doc", "cutting or buying"), ("/paper/other.pdf", "cutting or buying"),
     ("/paper/sheet/whel.pdf", "wheel"), ("/paper/record.pdf?paper=a3", "a4, a5")],
)  # fmt: skip
def test_what_there_is_not_is_refused_by_name(at_demo, path, said):
    answer = at_demo.get(path)
    assert answer.status_code == 404
    assert said in answer.text
