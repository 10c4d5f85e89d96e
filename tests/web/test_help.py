"""Help: every page says what it is, every document can be read, and nothing on them leads outside."""

from __future__ import annotations

import re

import pytest

from asmade.web.help_texts import GLOSSARY, document, documents, folder, texts, what_is
from asmade.web.pages import every, menu

NO_PAGES = (".pdf", ".svg", ".js", ".{ending}", "/read", "/state", "/turn", "/motion/{side}", "/more", "/carried", "/back", "/pages",
            "/pair", "/openings", "/stacks/{side}", "/joined/{key}", "/{digest}")  # fmt: skip


def paths():
    found = {route.path for module in every() for route in module.router.routes if "GET" in route.methods}
    return sorted(path for path in found if not path.endswith(NO_PAGES))


def test_every_page_says_what_it_is():
    lacking = [path for path in paths() if what_is(re.sub(r"\{[^}]+\}", "x", path)) is None]
    assert lacking == []
    for _, path in menu():
        assert not path or path in texts()


def test_texts_are_short_and_name_documents_that_are_there():
    for path, what in texts().items():
        assert 40 < len(what.words) < 330, path
        assert not what.more or what.more in documents(), path
        assert what.words.endswith("."), path


@pytest.mark.parametrize("path", ["/", "/shop", "/sums/fit", "/parts/wheel", "/bench"])
def test_the_text_stands_on_its_page(at_demo, path):
    page = at_demo.get(path).text
    assert "<summary>What is this?</summary>" in page
    assert what_is(path).words[:30].replace("'", "&#39;") in page


def test_what_is_of_a_page_below_another():
    assert what_is("/sums/fit").name == "A quick sum"
    assert what_is("/import/abc").name == "What a file would bring"
    assert what_is("/nothing") is None


@pytest.mark.parametrize("name", documents())
def test_every_document_is_rendered_under_the_policy_of_the_pages(at_demo, name):
    text = document(name)
    assert " style=" not in text
    assert "<script" not in text
    assert "<th></th>" not in text
    for target in re.findall(r'href="([^"]+)"', text):
        assert target.startswith(("/help/", "#")), target
        page, _, part = target.partition("#")
        if page:
            assert page.removeprefix("/help/") in documents()
        if part:
            assert f'id="{part}"' in (document(page.removeprefix("/help/")) if page else text), target
    answer = at_demo.get(f"/help/{name}")
    assert answer.status_code == 200
    assert answer.text.count("<h1") == 1


def test_every_document_of_the_folder_is_there():
    assert set(documents()) == {file.stem.lower() for file in folder().glob("*.md")}
    assert GLOSSARY in documents()


def test_the_index_lists_what_there_is(at_demo):
    page = at_demo.get("/help").text
    for name in documents():
        assert name == "readme" or f'href="/help/{name}"' in page
    assert at_demo.get("/help/none-such").status_code == 404
    assert at_demo.get("/help/..%2fpyproject").status_code == 404


def test_the_glossary_says_each_word_once():
    rows = re.findall(r"<tr>\s*<td>(.*?)</td>", document(GLOSSARY))
    words = [word.strip() for row in rows for word in row.split(",")]
    assert len(words) == len(set(words)) > 90
