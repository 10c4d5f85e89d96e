from __future__ import annotations

import itertools
import signal

import pytest

from asmade.measure.errors import OutOfRange
from asmade.reckon.choice import choose
from asmade.reckon.findings import look
from asmade.reckon.values import compute

STACK = """
[book]
drawing_unit = "inch"
[shop]
buys = ["metric"]
[part.rod]
places = ["engine"]
[part.rod.dim]
width = { kind = "thickness", drawn = "3/16", process = "milled" }
[part.pin]
places = ["engine"]
[part.pin.dim]
seat = { kind = "length", drawn = "9/16", process = "faced" }
journal = { kind = "length", drawn = "13/64", process = "faced" }
cap = { kind = "thickness", drawn = "1/32", process = "faced" }
[part.bar]
places = ["engine"]
[part.bar.dim]
face = { kind = "width", drawn = "1 1/64", process = "milled" }
[[chain]]
name = "room behind the bar"
is = "bar.face - rod.width - pin.seat - pin.cap"
least = "LEAST"
[[chain]]
name = "float"
is = "pin.journal - rod.width"
least = "0.1 mm"
most = "0.5 mm"
"""


def changes(choice):
    return {str(c.dimension): c for c in choice.changes}


def test_rounding_each_size_by_itself_loses_what_choosing_together_keeps(fold_text):
    """1 1/64, 3/16, 9/16, 1/32 in leave 5.953 mm; the nearest round figures in 0.5 mm leave 5.5 (by hand)."""
    build = fold_text(STACK.replace("LEAST", "5.8 mm"))
    naive = round(25.796875 * 2) / 2 - round(4.7625 * 2) / 2 - round(14.2875 * 2) / 2 - round(0.79375 * 2) / 2
    assert naive < 5.8
    choice = choose(build)
    assert choice.status == "proven"
    sizes = {n: c.chosen_mm for n, c in changes(choice).items()}
    assert sizes["bar.face"] - sizes["rod.width"] - sizes["pin.seat"] - sizes["pin.cap"] >= 5.8 - 1e-6
    assert 0.1 - 1e-6 <= sizes["pin.journal"] - sizes["rod.width"] <= 0.5 + 1e-6


def test_each_change_says_drawn_exact_chosen_and_why(fold_text):
    change = changes(choose(fold_text(STACK.replace("LEAST", "1 mm"))))["rod.width"]
    assert change.drawn == "3/16"
    assert change.exact_mm == pytest.approx(4.7625)
    assert "round" in change.why or "exact" in change.why


def test_what_must_be_kept_is_kept_exactly(fold_text):
    text = STACK.replace("LEAST", "1 mm").replace('drawn = "9/16", process', 'drawn = "9/16", keep = "exact", process')
    assert changes(choose(fold_text(text)))["pin.seat"].chosen_mm == pytest.approx(14.2875)


def test_made_sizes_are_facts(fold_text):
    text = STACK.replace("LEAST", "5.8 mm") + '[[made]]\npiece = "bar#engine"\ndim = "face"\nreading = "25.60"\n'
    found = changes(choose(fold_text(text)))
    assert "bar.face" not in found
    left = 25.60 - found["rod.width"].chosen_mm - found["pin.seat"].chosen_mm - found["pin.cap"].chosen_mm
    assert left >= 5.8 - 1e-6


def test_locks_stand_and_hand_choices_are_locks(fold_text):
    text = STACK.replace("LEAST", "1 mm") + '[[chosen]]\nof = "rod.width"\nsize = "5.2 mm"\nlocked = true\n'
    choice = choose(fold_text(text))
    assert "rod.width" not in changes(choice)
    assert changes(choice)["pin.journal"].chosen_mm >= 5.3 - 1e-6


def test_the_choice_made_holds_by_the_full_findings(fold_text):
    build = fold_text(STACK.replace("LEAST", "5.8 mm"))
    choice = choose(build)
    after = {m.subject: m for m in choice.moved}
    assert all(m.after >= -1e-6 for m in after.values())


def test_a_conflict_names_the_smallest_set_and_the_least_that_would_free_it(fold_text):
    """bar.face can be at most its drawn 25.797 + 6 %; a room of 12 mm cannot be had: by hand more than 3 mm short."""
    choice = choose(fold_text(STACK.replace("LEAST", "12 mm")))
    assert choice.status == "conflict"
    assert choice.conflict == ("room behind the bar",)
    assert choice.relaxations[0].by_mm > 1
    assert "room behind the bar" in choice.words


def test_stock_in_the_rack_comes_before_what_must_be_bought(fold_text):
    text = """
    [book]
    drawing_unit = "inch"
    [part.axle]
    places = ["1"]
    material = "bright mild steel"
    [part.axle.dim]
    journal = { kind = "shaft", drawn = "5/8", process = "stock as is", stock = "round bar" }
    hole = { kind = "bore", drawn = "1/4", process = "reamed" }
    [[shop.stock]]
    form = "round bar"
    material = "bright mild steel"
    size = "16 mm"
    [shop.tool."reamer 6.5"]
    kind = "reamer"
    size = "6.5 mm"
    """
    found = changes(choose(fold_text(text)))
    assert (found["axle.journal"].size, found["axle.journal"].buy) == ("16.0 mm", "")
    assert "in the rack" in found["axle.journal"].why
    assert found["axle.hole"].tool == "reamer 6.5"
    bare = text.replace(
        '[[shop.stock]]\n    form = "round bar"\n    material = "bright mild steel"\n    size = "16 mm"\n', ""
    )
    assert "bought" in changes(choose(fold_text(bare)))["axle.journal"].why


def test_a_wall_that_is_not_linear_is_checked_by_the_full_model(fold_text):
    """hypot(x, y) >= 30 with x drawn 20, y 22 (29.73): the nearest round pair must reach it; brute force over tenths."""
    text = """
    [part.p]
    places = ["engine"]
    [part.p.dim]
    x = { kind = "length", drawn = "20", process = "ground" }
    y = { kind = "length", drawn = "22", process = "ground" }
    [shop.rounding]
    ground = "0.1 mm"
    [[wall]]
    name = "corner"
    is = "hypot(p.x, p.y)"
    least = "30 mm"
    """
    choice = choose(fold_text(text))
    found = {n: c.chosen_mm for n, c in changes(choice).items()}
    assert (found["p.x"] ** 2 + found["p.y"] ** 2) ** 0.5 >= 30 - 1e-9
    tenths = [
        (x / 10, y / 10) for x, y in itertools.product(range(188, 213), range(207, 234)) if (x * x + y * y) >= 90_000
    ]
    least = min(abs(x - 20) + abs(y - 22) for x, y in tenths)
    got = abs(found["p.x"] - 20) + abs(found["p.y"] - 22)
    assert got <= least + 0.25, "within what round figures are worth"


def test_scatter_is_allowed_for_where_it_can_be_and_said_where_it_cannot(fold_text):
    choice = choose(fold_text(STACK.replace("LEAST", "5.8 mm")))
    assert choice.assured in (0.0, 0.5, 1.0)
    assert choice.words


def test_a_to_suit_size_is_continuous_and_follows(fold_text):
    text = STACK.replace("LEAST", "1 mm").replace('most = "0.5 mm"', 'most = "0.5 mm"\nto_suit = "pin.journal"')
    build = fold_text(text)
    found = changes(choose(build))
    gap = found["pin.journal"].chosen_mm - found["rod.width"].chosen_mm
    assert 0.1 <= gap <= 0.5
    assert "suit" in found["pin.journal"].why
    assert look(compute(build)).known.all()


TIGHT = STACK.replace("LEAST", "5.8 mm").replace('most = "0.5 mm"', 'most = "0.12 mm"')
"""The float's band of 0.02 mm is narrower than the shop's scatter, and no full assurance can be had of it."""


def test_a_conflict_is_explained_once_and_only_when_nothing_easier_is_left(fold_text):
    told = []
    choice = choose(fold_text(STACK.replace("LEAST", "12 mm")), on_progress=lambda p: told.append(p.words))
    assert choice.status == "conflict"
    assert sum("smallest contradiction" in words for words in told) == 1
    told.clear()
    assert choose(fold_text(TIGHT), on_progress=lambda p: told.append(p.words)).status == "proven"
    assert not [words for words in told if "nothing satisfies all" in words]


def test_a_time_limit_that_is_none_is_refused(fold_text):
    build = fold_text(TIGHT)
    for limit in (0.0, -1.0, float("nan")):
        with pytest.raises(OutOfRange, match="time limit"):
            choose(build, time_limit_s=limit)


def test_ctrl_c_ends_every_step_of_a_choice_not_only_the_one_at_hand(fold_text):
    """One interrupt while the first step runs: nothing easier is begun after it."""
    told = []

    def interrupt(progress):
        told.append(progress.words)
        signal.raise_signal(signal.SIGINT)

    choice = choose(fold_text(STACK.replace("LEAST", "12 mm")), on_progress=interrupt)
    assert choice.status in ("conflict", "nothing_found")
    assert len(told) == 1


def test_a_sum_that_is_no_length_is_told_in_its_own_unit(fold_text):
    """A wall without a unit of mm: the ratio of two lengths is at least 3; drawn 1 and 2 within 6 % it is about 2."""
    text = """
    [part.p]
    places = ["engine"]
    [part.p.dim]
    x = { kind = "length", drawn = "10" }
    y = { kind = "length", drawn = "20" }
    [[wall]]
    name = "proportion"
    is = "sin(30 deg) * p.y / p.x"
    least = "3 mm"
    """
    choice = choose(fold_text(text))
    assert choice.status == "conflict"
    assert choice.relaxations[0].words.startswith("wall proportion, least")
