"""Board, wheels and rods, gaps, valves: they say what the verbs say, on a whole book and on one just begun."""

from __future__ import annotations

import math
import re
from html import unescape

import pytest

from asmade.verbs import store
from asmade.verbs.gaps import gaps_of
from asmade.verbs.valves import valves_of
from asmade.verbs.wheels import wheels_of

PAGES = (
    "/", "/?side=L&angle=0&reverser=-50", "/wheels", "/wheels?boxes=blocked&angle=41", "/wheels?wanted=0.02+mm", "/gaps",
    "/gaps?pair=3&angle=10", "/gaps?wanted=0.6+mm&curve=5000+mm&gauge=127+mm", "/valves", "/valves?reverser=0.5&against=drawn",
    "/valves?more=1", "/valves/set?adjust=eccentric_rod",
    "/wheels/diagnosis?on0=12&on0=23&tight0=30-60%2C+210-240&on1=23&tight1=nowhere",
)  # fmt: skip
WRONG = (
    ("/?angle=nothing", "crank angle"), ("/?reverser=200", "reverser"), ("/wheels?wanted=a+lot", "slack wanted"),
    ("/wheels?wanted=" + "9" * 60, "longer"), ("/wheels?boxes=ajar", "boxes"), ("/gaps?wanted=much", "much"),
    ("/gaps?curve=-1", "curve"), ("/valves?values=guessed", "values"), ("/valves?against=guessed", "values"),
    ("/valves/set", "ajusted".replace("aj", "adj")), ("/valves/set?adjust=chimney", "chimney"),
    ("/wheels/diagnosis?on0=12&on0=23&tight0=30-", "arc"), ("/wheels/diagnosis?on0=99&tight0=nowhere", "99"),
    ("/wheels/diagnosis", "nothing was observed"),
)  # fmt: skip


def words(answer):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text.replace("<wbr>", ""))).split())


def faults(text):
    """What the content policy would refuse, ids that stand twice, and pictures with nothing to read aloud."""
    found = re.findall(r"<[a-z]+[^>]* style=|<[a-z]+[^>]* on[a-z]+=|<style|<script(?![^>]* src=)", text)
    ids = re.findall(r'\bid="([^"]+)"', text)
    found += [one for one in set(ids) if ids.count(one) > 1]
    found += [svg for svg in re.findall(r"<svg[^>]*>", text) if "aria-" not in svg and "moving" not in svg]
    return found + re.findall(r"\bnan\b|\bNone\b|\binf\b", re.sub(r"<[^>]+>", " ", text))


@pytest.mark.parametrize("path", PAGES)
def test_pages_of_the_demo_answer(at_demo, path):
    answer = at_demo.get(path)
    assert answer.status_code == 200
    assert faults(answer.text) == []
    assert answer.text.count("<h1>") == 1


@pytest.mark.parametrize("path", ["/", "/wheels", "/gaps", "/valves", "/valves?more=1", "/?side=L"])
def test_pages_of_a_new_book_say_what_is_lacking(at_new, path):
    answer = at_new.get(path)
    assert answer.status_code == 200
    assert faults(answer.text) == []
    if path != "/gaps":
        assert "not known" in answer.text or "cannot be" in answer.text or "not drawn" in answer.text.lower()


@pytest.mark.parametrize(("path", "says"), WRONG)
def test_a_refusal_stands_on_the_page_it_belongs_to(at_demo, path, says):
    answer = at_demo.get(path)
    assert answer.status_code in (404, 422)
    assert 'class="refusal"' in answer.text
    assert says in answer.text
    assert "Traceback" not in answer.text
    assert "That is not possible" not in answer.text


@pytest.mark.parametrize("path", ["/?side=X", "/board/motion/X", "/gaps?pair=99", "/gaps/turn?pair=0"])
def test_what_is_not_there_is_refused(at_demo, path):
    assert at_demo.get(path).status_code in (404, 422)


def test_the_board_draws_every_body_and_marks_findings(at_demo):
    text = at_demo.get("/?side=R&angle=97").text
    told = at_demo.get("/board/motion/R").json()
    assert text.count("data-track=") == len(told["tracks"])
    for mark in set(re.findall(r'<a href="#(finding-\d+)" class="mark', text)):
        assert f'id="{mark}"' in text
    numbers = [int(n) for n in re.findall(r'class="mark-no \w+">(\d+)<', text)]
    assert numbers == list(range(1, len(numbers) + 1))


def test_the_first_page_is_light(at_demo):
    page = at_demo.get("/")
    files = sorted(set(re.findall(r'(?:href|src)="(/static/[^"]+\.(?:css|js|svg))"', page.text)))
    imported = ["/static/motion.js", "/static/drive.js"]
    asked = ["/board/motion/R", "/board/stacks/R"]
    sizes = [len(at_demo.get(path).content) for path in (*files, *imported, *asked)]
    assert len(page.content) + sum(sizes) < 300_000


def test_wheels_say_what_the_verb_says(at_demo, demo_book):
    result = wheels_of(store.read_build(demo_book))
    shown = words(at_demo.get("/wheels"))
    for section in result.sections:
        for state in filter(None, (section.blocked, section.free)):
            assert f"{section.section} {state.boxes} {state.verdict} {state.slack_mm:.3f}" in shown.replace("−", "-")
    blocked = wheels_of(store.read_build(demo_book), boxes="blocked")
    shown = words(at_demo.get("/wheels?boxes=blocked"))
    for cure in (c for section in blocked.sections for c in section.cures):
        assert cure.says in shown
        assert cure.spoils in shown


def test_the_slack_at_an_angle_is_that_of_the_rows(at_demo):
    told = at_demo.get("/wheels/turn?boxes=blocked&wanted=").json()
    shown = words(at_demo.get("/wheels?boxes=blocked&angle=40"))
    rows = told["rows"]["12 blocked"]
    assert f"section 12, boxes blocked {rows[round(40 * (len(rows) - 1) / 360)]:.3f} mm" in shown
    assert all({"section", "side", "says", "from", "to"} == set(held) for held in told["held"])


def test_gaps_say_what_the_verb_says_by_margin(at_demo, demo_book):
    result = gaps_of(store.read_build(demo_book))
    answer = at_demo.get("/gaps")
    shown = words(answer)
    pairs = sorted((p for s in result.sides for p in s.pairs), key=lambda p: p.finding.margin_mm)
    margins = [float(m) for m in re.findall(r'<td class="num">(-?\d+\.\d\d)<td class="num">\d+°', answer.text)]
    assert margins == sorted(margins)
    assert len(margins) == len(pairs)
    for pair in pairs:
        assert f"{pair.one} – {pair.other}" in shown
    least = pairs[0].finding.least
    turn = at_demo.get("/gaps/turn?pair=1").json()["rows"]["gap"]
    assert min(turn) == pytest.approx(least.gap_mm, abs=2e-3)
    for cure in pairs[0].cures:
        assert str(cure.size) in shown


def test_piston_ends_are_both_there_with_the_rod_that_shares(at_demo, demo_book):
    from asmade.reckon.values import compute
    from asmade.verbs.piston_ends import piston_ends

    shown = words(at_demo.get("/gaps"))
    for ends in piston_ends(compute(store.read_build(demo_book))):
        for finding, where in ((ends.front, "front"), (ends.back, "back")):
            assert f"{finding.verdict} at the {where} {finding.value:.2f}" in shown
        assert f"{ends.shares_mm:.2f}" in shown or "shares the room equally" in shown


def test_valves_say_what_the_verb_says_advice_first(at_demo, demo_book):
    result = valves_of(store.read_build(demo_book))
    answer = at_demo.get("/valves?more=1")
    shown = words(answer)
    for advice in result.advice:
        assert advice.text[1:] in shown
    assert shown.index("What is uneven") < shown.index("What to set") < shown.index("Left over right")
    row = next(r for r in result.events.positions if r.side == "R")
    assert f"{row.ends[0].cutoff.per_cent:.1f}" in shown
    rows = at_demo.get("/valves/openings?values=best&against=drawn&reverser=1").json()["rows"]
    assert len(rows) == 8
    assert all(
        len(each) == 101 and all(v is None or (math.isfinite(v) and v >= 0) for v in each) for each in rows.values()
    )


def test_pieces_of_a_page_opened_by_themselves_lead_to_the_page(at_demo):
    for path, page in (("/valves/more", "/valves"), ("/board/stacks/R", "/gaps")):
        assert at_demo.get(path).text.lstrip().startswith("<")
        whole = at_demo.get(path, headers={"sec-fetch-dest": "document"})
        assert whole.status_code == 200
        assert whole.url.path == page
