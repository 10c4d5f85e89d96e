"""The text form reads back to the same build, whatever was entered; what cannot be read is refused by name."""

from __future__ import annotations

import re
import string
from contextlib import suppress
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asmade.book.fold import fold
from asmade.book.kinds import FIGURE_KINDS, KINDS, STAGES
from asmade.book.ledger_entry import Entry, prepare
from asmade.book.model import Dimension
from asmade.book.tables import JOURNAL
from asmade.book.text import read_text, write_text
from asmade.measure.errors import AsmadeError, Refused
from asmade.reckon.findings import look
from asmade.reckon.values import compute

AT = "2026-03-14T19:05:00+01:00"


def entries_of(drafts):
    return [Entry(k, d.kind, d.at or AT, dict(d.body), d.by) for k, d in enumerate(drafts, start=1)]


def folded(text):
    return fold(entries_of(read_text(text)))


def told(build):
    """All a build says, without the numbers of its entries, which belong to the ledger."""
    return {
        "design": build.design,
        "shop": build.shop,
        "chosen": {of: replace(chosen, entry=0) for of, chosen in build.chosen.items()},
        "aimed": [replace(aim, entry=0) for aim in build.aimed],
        "readings": [repr(replace(reading, entry=0)) for reading in build.readings],  # nan of a thread equals itself
        "pieces": build.pieces,
        "seated": build.seated,
        "remarks": [replace(remark, entry=0) for remark in build.remarks],
    }


# ---------------------------------------------------------------- generated builds

names = st.from_regex(r"[A-Za-z_][A-Za-z0-9_]{0,8}", fullmatch=True)
steps = st.from_regex(r"[A-Za-z0-9_]{1,6}", fullmatch=True)
texts = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
shown = texts.filter(str.isprintable)
titles = texts.filter(lambda text: bool(text.strip()))
numbers = st.integers(-(2**63) + 1, 2**63 - 1) | st.floats(allow_nan=False, allow_infinity=False)
values = st.recursive(
    texts | numbers | st.booleans(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=5,
)
bodies = st.dictionaries(st.sampled_from(["n", "at", "by", "own", "why", "text"]) | texts, values, max_size=4)
sizes = st.sampled_from(["5/8", "1 3/16", "0.375", "12.5 mm", "No. 40", "12,5 mm", '7/32"', "3/8 H7", ""])
places = st.lists(st.sampled_from(["1L", "1R", "2L", "engine", "p1", "12R"]), min_size=1, max_size=4, unique=True)
moments = st.builds(
    lambda seconds, minutes: (
        datetime(2026, 1, 1, tzinfo=UTC).astimezone(timezone(timedelta(minutes=minutes))) + timedelta(seconds=seconds)
    ).isoformat(),
    st.integers(0, 10**7),
    st.integers(-720, 720),
)


@st.composite
def dimensions(draw, at):
    kind = draw(st.sampled_from(sorted(KINDS)))
    drawn = st.just("22.5 deg") if kind == "angle" else st.just("5 BA") if kind == "thread" else sizes
    table = {"kind": kind, "drawn": draw(drawn)}
    for key in draw(st.sets(st.sampled_from(["reference", "tool", "stock", "note", "from", "process"]))):
        table[key] = draw(texts)
    if draw(st.booleans()):
        table["drawn_at"] = {draw(st.sampled_from(at)): draw(drawn)}
    if draw(st.booleans()):
        table["also"] = [{"drawn": draw(drawn) or "1/2", "reference": draw(texts)}]
    return table


@st.composite
def parts(draw):
    at = draw(places)
    dims = {}
    for first in draw(st.lists(steps, max_size=3, unique=True)):
        inner = draw(st.none() | steps)
        dims[first] = draw(dimensions(at)) if inner is None else {inner: draw(dimensions(at))}
    part = {
        "places": at,
        "dim": dims,
        "material": draw(texts),
        "form": draw(st.dictionaries(texts, values, max_size=2)),
    }
    return part | ({"hand": "mirrored"} if draw(st.booleans()) else {})


@st.composite
def designs(draw):
    found = {
        "book": {"title": draw(shown), "drawing_unit": draw(st.sampled_from(["inch", "mm"])), "note": draw(texts)},
        "part": draw(st.dictionaries(names, parts(), min_size=1, max_size=3)),
        "figure": draw(
            st.dictionaries(names, st.fixed_dictionaries({"kind": st.just("force"), "drawn": texts}), max_size=2)
        ),
    }
    for kind in draw(st.lists(st.sampled_from(["fit", "chain", "later kind", 'odd "kind" = 3']), unique=True)):
        relations = st.dictionaries(
            titles.filter(str.isprintable), st.dictionaries(texts, values, max_size=3), max_size=3
        )
        found[kind] = [
            {k: v for k, v in fields.items() if k not in ("name", "places")} | {"name": name}
            for name, fields in draw(relations).items()
        ]
    return found


shops = st.fixed_dictionaries(
    {},
    optional={
        "instrument": st.dictionaries(
            shown,
            st.fixed_dictionaries({"unit": st.just("mm"), "reads_to": st.floats(0, 1), "note": texts}),
            max_size=2,
        ),
        "tool": st.dictionaries(shown, st.fixed_dictionaries({"kind": titles, "size": texts}), max_size=2),
        "machine": st.dictionaries(shown, st.dictionaries(texts, values, max_size=2), max_size=2),
        "stock": st.lists(
            st.fixed_dictionaries({"form": titles, "size": titles, "count": st.integers(0, 9)}), max_size=2
        ),
        "rounding": st.dictionaries(texts, st.just("0.05 mm"), max_size=2),
        "buys": st.lists(texts, max_size=2),
    },
)


@st.composite
def journals(draw, design):
    found = []
    spots = [(name, place) for name, part in design["part"].items() for place in part["places"]]
    marks = st.sampled_from(["W3", "W4", "1L", "engine", "spare_1"])
    for _ in range(draw(st.integers(0, 8))):
        name, place = draw(st.sampled_from(spots))
        dims = list(flat(design["part"][name]["dim"]))
        seat = draw(st.sampled_from([f"{name}@{place}", f"{name}#{draw(marks)}"]))
        kind = draw(
            st.sampled_from(["chosen", "aimed", "made", "made", "moved", "scrapped", "done", "note", "attachment"])
        )
        if kind in ("done", "note", "attachment"):
            found.append((kind, draw(bodies)))
        elif kind == "moved":
            found.append((kind, {"piece": seat, "place": draw(st.sampled_from([place, "", "scrap"]))}))
        elif kind == "scrapped":
            found.append((kind, {"piece": seat, "why": draw(texts)}))
        elif dims:
            dim, of = draw(st.sampled_from(dims))
            found.append((kind, draw(sayings(kind, seat, name, dim, of))))
    return found


def flat(tables, path=""):
    for name, table in tables.items():
        if isinstance(table.get("kind"), str):
            yield path + name, table["kind"]
        else:
            yield from flat(table, f"{path}{name}.")


@st.composite
def sayings(draw, kind, seat, part, dim, of):
    size = {"angle": "12 deg", "thread": "5 BA"}.get(of, "15.90")
    if kind == "chosen":
        return {"of": f"{part}.{dim}", "size": size, "why": draw(texts), "locked": draw(st.booleans())}
    if kind == "aimed" and of != "thread":
        return {"piece": seat, "dim": dim, "low": size, "target": size, "high": size}
    if kind == "made" and of == "thread":
        return {"piece": seat, "dim": dim, "reading": size, "stage": draw(st.sampled_from(STAGES)), "tool": draw(texts)}
    figures = draw(st.sampled_from([{"reading": size}, {"repeats": [size, size]}, {"spots": [size, size]}]))
    return {"piece": seat, "dim": dim, "stage": draw(st.sampled_from(STAGES)), "note": draw(texts), **figures}


@st.composite
def ledgers(draw):
    design = draw(designs())
    every = [("design", {"set": design})]
    if shop := draw(shops):
        every.append(("shop", {"set": shop}))
    for kind, body in draw(journals(design)):
        if kind == "aimed" and "low" not in body:
            continue
        every.append((kind, body))
    if len(every) > 3 and draw(st.booleans()):
        every.append(("withdrawn", {"entry": len(every), "why": draw(texts)}))
    by = st.sampled_from(["", "hand", 'the "choice"'])
    return [Entry(k, kind, draw(moments), body, draw(by)) for k, (kind, body) in enumerate(every, start=1)]


@settings(max_examples=150, deadline=None)
@given(ledgers())
def test_what_is_written_reads_back_to_the_same_build(ledger):
    build = fold(ledger)
    text = write_text(build)
    again = fold(entries_of(read_text(text)))
    assert told(again) == told(build)
    assert write_text(again) == text
    for entry in entries_of(read_text(text)):
        prepare(entry)  # the ledger keeps it exactly


@settings(max_examples=300, deadline=None)
@given(st.text(st.characters(exclude_categories=("Cs",)), max_size=60))
def test_any_text_is_read_or_refused(text):
    with suppress(AsmadeError):  # any other exception is a mistake
        fold(entries_of(read_text(text)))


# ---------------------------------------------------------------- told cases

START = '[book]\ntitle = "t"\ndrawing_unit = "inch"\n[part.axle]\nplaces = ["1", "2"]\n[part.axle.dim]\nlength = { kind = "length" }\n'


def test_rows_of_the_journal_stand_in_the_order_of_their_numbers_whatever_their_kind():
    build = folded(
        START
        + '[[made]]\nn = 3\npiece = "axle#A"\ndim = "length"\nreading = "20"\n'
        + '[[moved]]\nn = 2\npiece = "axle#B"\nplace = "1"\n[[moved]]\nn = 1\npiece = "axle#A"\nplace = "1"\n'
    )
    assert build.pieces["axle#A"].place == ""
    assert build.pieces["axle#B"].place == "1"


def test_rows_without_numbers_stand_in_the_order_of_time_across_offsets():
    rows = [
        ("10", "2026-03-14T10:00:00+02:00"),
        ("20", "2026-03-14T09:30:00+01:00"),
        ("30", "2026-03-14T08:10:00+00:00"),
    ]
    blocks = [
        f'[[made]]\npiece = "axle#1"\ndim = "length"\nreading = "{text}"\nat = {at}\n' for text, at in reversed(rows)
    ]
    assert [r.text for r in folded(START + "".join(blocks)).readings] == ["10", "30", "20"]


def test_fields_that_are_null_are_left_out_and_a_null_in_a_list_is_refused():
    entries = [*entries_of(read_text(START)), Entry(2, "note", AT, {"text": "a", "of": None})]
    assert dict(folded(write_text(fold(entries))).remarks[0].body) == {"text": "a"}
    with pytest.raises(Refused, match="no sign for it"):
        write_text(fold([*entries[:1], Entry(2, "note", AT, {"list": [None]})]))


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("x = 1\ny", "end of document"),
        ("x = 1\ny\nz = 2", "line 2"),
        ("x = 1", r"below \[book\]"),
        ("[book]\nformat = 2", "format 1"),
        ("[book]\nformat = true", "format 1"),
        ('[[fit]]\nname = "a"\n[[fit]]\nname = "a"', "two of this kind"),
        ('[[made]]\npiece = "axle#1"\nat = "yesterday"', "no date and time"),
        ("[[made]]\nat = 3", "no date and time"),
        ('[[made]]\nn = "first"', "whole number"),
        ("[[note]]\nby = 3", "text in quotes"),
        ("[made]\nx = 1", r"\[\[made\]\]"),
        ("a = " + "[" * 5000 + "]" * 5000, "too deep"),
        ("a = " + "9" * 5000, "digits"),
        ("[book]\ntitle = 'no unit'", "drawing_unit is missing"),
        ('[book]\ndrawing_unit = "furlong"', "inch, mm"),
        (START + "colour = 3\n", "colour"),
    ],
    ids=lambda value: str(value)[:20],
)
def test_what_cannot_be_read_is_refused_by_name(text, word):
    with pytest.raises(AsmadeError, match=word):
        folded(text)


def test_the_alphabet_of_keys_is_kept():
    odd = {f'k{c}="{c}' for c in string.printable if c.isprintable()} | {"", "a.b", "é", "1", "-"}
    entries = [
        *entries_of(read_text(START)),
        Entry(2, "shop", AT, {"set": {"machine": {key: {key: key} for key in odd}}}),
    ]
    assert set(folded(write_text(fold(entries))).shop.machines) == odd


# ---------------------------------------------------------------- the page on the text form

PAGE = Path(__file__).parents[2] / "docs" / "text-form.md"


def test_the_examples_of_the_page_are_one_book_that_can_be_worked_out():
    text = "\n".join(re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL))
    build = folded(text)
    verdicts = {(f.code, f.subject): f.verdict for f in look(compute(build), samples=0)}
    assert ("fit", "wheel on axle@1R") in verdicts
    assert not [subject for subject, verdict in verdicts.items() if verdict == "fails"]
    assert {relation.kind for relation in build.design.relations} >= {
        "fit",
        "chain",
        "same",
        "wall",
        "play",
        "joint",
        "formula",
    }
    assert [reading.low for reading in build.readings] == [15.90, 17.50, 119.05]
    assert told(folded(write_text(build))) == told(build)


def test_the_page_names_every_key_of_a_dimension_every_kind_and_every_row_of_the_journal():
    page = PAGE.read_text(encoding="utf-8")
    keys = {"from" if field.name == "datum" else field.name for field in fields(Dimension)} - {"name"}
    for word in (*keys, *KINDS, *JOURNAL):
        assert f"`{word}`" in page or f"[[{word}]]" in page, word
    for word in FIGURE_KINDS:
        assert word in page


@pytest.mark.parametrize(
    "line",
    [
        '[book]\ntitle = "a\\u001b[31m"',
        '[[note_wall]]\nname = "x\\u0007"',
        '[shop.tool."a\\u001b[2J"]\nkind = "drill"',
    ],
)
def test_names_that_would_play_with_the_terminal_are_refused(line):
    head = "" if line.startswith("[book]") else "[book]\n"
    text = f"{head}{line}\n".replace("[book]\n", '[book]\ndrawing_unit = "mm"\n')
    with pytest.raises(Refused, match="control characters"):
        fold(entries_of(read_text(text)))
