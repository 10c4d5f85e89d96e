"""The moving drawing and the plots in a real browser: by mouse, by keyboard, by no script at all, calm where asked."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

PAGES = ("/", "/wheels?boxes=blocked", "/gaps", "/valves?against=drawn")
LEAST_PX = 10.9  # 11 less what is lost in rounding


def transform(page, name):
    return page.locator(f'[data-body="{name}"]').first.get_attribute("transform")


def turned(page, name="wheel 2"):
    """How far a body is turned now, as the browser has it."""
    return page.evaluate(
        "name => document.querySelector(`[data-body='${name}']`).transform.baseVal.getItem(1).angle", name
    )


def ready(page, path, served):
    page.goto(served.address + path)
    expect(page.locator("[data-run]")).to_be_visible()


def test_sliders_move_the_drawing_and_keep_the_place(window, shown_demo):
    page = window()
    ready(page, "/?side=R&angle=48", shown_demo)
    slider = page.get_by_label("Crank angle")
    before = turned(page)
    slider.focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator('output[for="angle"]')).to_have_text("49°")
    assert turned(page) == pytest.approx(before + 1, abs=0.02)  # forward running is clockwise on this side
    expect(page).to_have_url(re.compile("angle=49"))
    reverser = page.get_by_label("Reverser")
    rod = page.evaluate("document.querySelector(\"[data-body='radius rod']\").getAttribute('transform')")
    reverser.focus()
    page.keyboard.press("Home")
    expect(page.locator('output[for="reverser"]')).to_have_text("full backward")
    assert page.evaluate("document.querySelector(\"[data-body='radius rod']\").getAttribute('transform')") != rod
    page.reload()
    expect(page.locator('output[for="reverser"]')).to_have_text("full backward")


def test_it_runs_where_motion_is_welcome_and_steps_where_not(window, shown_demo):
    page = window()
    ready(page, "/", shown_demo)
    run = page.locator("[data-run]")
    expect(run).to_have_text("Turn 15°")
    first = page.locator('output[for="angle"]').inner_text()
    run.click()
    assert page.locator('output[for="angle"]').inner_text() == f"{int(first[:-1]) + 15}°"
    page.emulate_media(reduced_motion="no-preference")
    expect(run).to_have_text("Run")
    before = turned(page)
    run.click()
    expect(run).to_have_text("Stop")
    page.wait_for_function("was => document.querySelector(\"[data-body='wheel 2']\").transform.baseVal.getItem(1).angle !== was",
                           arg=before)  # fmt: skip
    run.click()
    expect(run).to_have_text("Run")


def test_without_scripts_it_is_drawn_where_it_is_asked_for(window, shown_demo):
    page = window(java_script_enabled=False)
    page.goto(shown_demo.address + "/?angle=10")
    at_ten = transform(page, "wheel 1")
    page.get_by_label("Crank angle").fill("100")
    page.get_by_role("button", name="Draw it there").click()
    assert transform(page, "wheel 1") != at_ten
    assert "rotate(100.00)" in transform(page, "wheel 1")
    for path in ("/wheels", "/gaps"):
        page.goto(shown_demo.address + path)
        expect(page.get_by_role("button", name=re.compile("there"))).to_be_visible()
    page.goto(shown_demo.address + "/valves")
    page.get_by_role("link", name="Work it out").first.click()
    expect(page.get_by_text("Find both dead centres").first).to_be_visible(timeout=60_000)


def test_one_angle_for_plot_figures_and_both_sides(window, shown_demo):
    page = window()
    ready(page, "/wheels?boxes=blocked", shown_demo)
    rows = page.evaluate("fetch('/wheels/turn?boxes=blocked&wanted=').then(a => a.json())")["rows"]
    page.get_by_role("slider", name="Right crank at").fill("90")
    shown = page.locator('[data-told="12 blocked"]')
    expect(shown).to_have_text(f"{rows['12 blocked'][45]:.3f} mm")
    plot = page.locator("[data-plot] svg:visible").first
    mark = plot.locator(".cursor")
    box = plot.bounding_box()
    page.mouse.click(box["x"] + 0.6 * box["width"], box["y"] + 0.3 * box["height"])
    angle = int(page.locator('output[for="angle"]').inner_text()[:-1])
    assert 170 < angle < 260
    start, end = float(mark.get_attribute("data-from")), float(mark.get_attribute("data-to"))
    x = mark.evaluate("g => g.transform.baseVal.getItem(0).matrix.e")
    assert x == pytest.approx(start + (end - start) * angle / 360, abs=(end - start) / 300)


def test_to_the_nearest_place_of_a_pair(window, shown_demo):
    page = window("phone", "dark")
    ready(page, "/gaps?angle=0", shown_demo)
    told = page.locator('[data-told="gap"]')
    far = float(told.inner_text().split()[0])
    page.get_by_role("button", name="To the nearest").click()
    assert float(told.inner_text().split()[0]) < far


def test_what_takes_seconds_comes_by_itself(window, shown_demo):
    page = window()
    page.goto(shown_demo.address + "/valves")
    expect(page.get_by_text("Find both dead centres").first).to_be_visible(timeout=60_000)
    expect(page.locator("#tells table").first).to_be_visible()
    page.goto(shown_demo.address + "/")
    expect(page.locator("#stacks svg:visible").first).to_be_visible(timeout=60_000)


def test_a_finding_lights_its_piece(window, shown_demo):
    page = window()
    page.goto(shown_demo.address)
    link = page.locator("[data-lights]").first
    link.focus()
    expect(page.locator(".body.lit").first).to_be_attached()
    page.get_by_role("link", name="all findings").focus()
    expect(page.locator(".body.lit")).to_have_count(0)


@pytest.mark.parametrize("width", ["narrow", "phone", "desk"])
@pytest.mark.parametrize("path", PAGES)
def test_no_figure_of_a_picture_is_too_small(path, width, window, shown_demo):
    page = window(width)
    page.goto(shown_demo.address + path)
    page.wait_for_load_state("networkidle")
    small = page.evaluate("""least => [...document.querySelectorAll("svg text")].filter(t => t.getClientRects().length).map(t => {
        const scale = t.ownerSVGElement.getScreenCTM().a
        return [t.textContent, parseFloat(getComputedStyle(t).fontSize) * scale]
    }).filter(([, size]) => size < least)""", LEAST_PX)  # fmt: skip
    assert small == []
