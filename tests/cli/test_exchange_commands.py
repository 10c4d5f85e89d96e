"""The commands import, export, new and demo, run as a builder runs them."""

from __future__ import annotations

import json

import pytest

from asmade.cli.app import run

LIST = "part,dimension,drawn,kind,quantity\nstay,length,4 1/16,length,2\nstay,width,wide,width,\n"


@pytest.fixture
def at(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def asked(capsys, *arguments):
    code = run(arguments)
    said = capsys.readouterr()
    return code, said.out, said.err


def test_a_new_book_is_filled_in_by_a_list(at, capsys):
    code, out, _ = asked(capsys, "new", "n.asmade", "--unit", "inch", "--arrangement", "0-4-0")
    assert code == 0
    assert "0-4-0" in out
    code, out, _ = asked(capsys, "export", "n.asmade", "n.csv")
    assert code == 0
    code, out, _ = asked(capsys, "import", "n.asmade", "n.csv")
    assert code == 0
    assert "nothing to save" in out
    assert asked(capsys, "new", "n.asmade", "--unit", "inch")[0] == 2
    assert asked(capsys, "new", "m.asmade", "--unit", "furlong")[0] == 2
    code, out, _ = asked(capsys, "new", "m.asmade", "--what-if")
    assert (code, "A bare drawn figure is in inch." in out, (at / "m.asmade").exists()) == (0, True, False)
    code, out, _ = asked(capsys, "new", "m.asmade", "--unit", "mm", "--json")
    assert (code, json.loads(out)["saved"]["entries"][0]) == (0, 1)


def test_a_refused_row_is_shown_and_ends_in_code_2(at, capsys):
    (at / "l.csv").write_text(LIST)
    code, out, _ = asked(capsys, "import", "s.asmade", "l.csv", "--new", "--unit", "inch")
    assert code == 2
    assert "Refused (1)" in out
    assert "wide" in out
    assert "nothing saved" in out
    assert not (at / "s.asmade").exists()
    code, out, _ = asked(
        capsys, "import", "s.asmade", "l.csv", "--new", "--unit", "inch", "--leave-out-refused", "--json"
    )
    assert code == 0
    answer = json.loads(out)
    assert [r["row"] for r in answer["refused"]] == [3]
    assert answer["saved"]["entries"] == [1, 2]
    code, out, _ = asked(capsys, "import", "s.asmade", "l.csv", "--what-if", "--leave-out-refused")
    assert code == 0
    assert "1 dimension is the same" in out


def test_templates(at, capsys):
    for name in ("t.xlsx", "t.csv"):
        assert asked(capsys, "import", "--template", name)[0] == 0
        code, _, err = asked(capsys, "import", "--template", name)
        assert (code, "is there already" in err) == (2, True)
        assert asked(capsys, "import", "--template", name, "--replace", "--json")[0] == 0
    assert asked(capsys, "import", "b.asmade", "x.csv", "--template", "u.csv")[0] == 2
    assert asked(capsys, "import", "b.asmade")[0] == 2
    assert asked(capsys, "import", "b.asmade", "x.csv", "--replace")[0] == 2


def test_entries_and_text_make_books_again(at, capsys):
    (at / "l.csv").write_text(LIST.replace("wide", "1/2"))
    assert asked(capsys, "import", "s.asmade", "l.csv", "--new", "--unit", "inch")[0] == 0
    for name, flags in (("s.toml", ()), ("s.jsonl", ("--entries",))):
        assert asked(capsys, "export", "s.asmade", name, *flags)[0] == 0
        assert asked(capsys, "import", f"{name[2:]}.asmade", name, "--new")[0] == 0
    code, _, err = asked(capsys, "export", "s.asmade", "s.toml", "--entries")
    assert (code, ".jsonl" in err) == (2, True)
    assert asked(capsys, "export", "s.asmade", "s.toml")[0] == 2
    code, out, _ = asked(capsys, "export", "s.asmade", "s.toml", "--replace", "--json")
    assert (code, json.loads(out)["what"]) == (0, "text")


@pytest.mark.parametrize(
    ("name", "content", "word"),
    [
        ("none.csv", None, "no such file"),
        ("a.csv", b"", "is empty"),
        ("a.csv", b"colour,size\nred,1\n", "missing here: part, dimension"),
        ("a.xls", b"x", "save the sheet as .xlsx"),
        ("a.xlsx", b"x", "no .xlsx"),
        ("a.toml", b"x", "key = value"),
        ("a.csv", b"\x00\x01\x02\x03", "headings"),
    ],
)
def test_bad_files_are_one_clear_message(at, capsys, name, content, word):
    if content is not None:
        (at / name).write_bytes(content)
    code, out, err = asked(
        capsys, "import", "s.asmade", name, "--new", *(() if name.endswith("toml") else ("--unit", "mm"))
    )
    assert (code, out) == (2, "")
    assert word in err
    assert "Traceback" not in err
    assert len(err.splitlines()) <= 2


def test_the_demo_is_written_once_and_shown(at, capsys):
    code, out, _ = asked(capsys, "demo", "--to", "d", "--no-serve")
    assert code == 0
    assert "made" in out
    assert "Harrowgill No. 3" in out
    code, out, _ = asked(capsys, "demo", "--to", "d", "--json")
    assert (code, json.loads(out)["created"]) == (0, False)
