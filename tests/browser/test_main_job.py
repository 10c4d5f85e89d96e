"""The main job in a real browser, at the desk and on a phone: the drawing's contradiction, the choice, a reading, a slip
that is asked about, what moved, undoing, what if, the last look. Two windows on one size. The keyboard alone.
"""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

WIDTHS = ("desk", "phone")


def go(page, name):
    """Follow a link of the menu, which on a phone is folded."""
    menu = page.locator("details.narrow > summary")
    if menu.is_visible():
        menu.click()
        page.locator("details.narrow nav").get_by_role("link", name=name, exact=True).click()
    else:
        page.locator("nav.wide").get_by_role("link", name=name, exact=True).click()


def enter(page, figure):
    """Enter a reading at the bench; say that it is finished, right, and meant beside another's, where that is asked."""
    page.get_by_label("It measures").fill(figure)
    page.keyboard.press("Enter")
    saved = page.get_by_role("heading", name="Saved")
    yes = page.get_by_role("alertdialog").get_by_role(
        "button", name=re.compile("finished|yes|save mine|takes the place", re.IGNORECASE)
    )
    for _ in range(3):
        expect(saved.or_(yes.first).first).to_be_visible(timeout=30_000)
        if saved.is_visible():
            return
        yes.first.click()
        expect(yes.first).to_be_hidden(timeout=30_000)
    expect(saved).to_be_visible(timeout=30_000)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_main_job_from_the_drawing_to_the_last_look(width, window, own_demo):
    page = window(width)
    page.goto(own_demo.address)
    expect(page.get_by_text("Harrowgill No. 3").first).to_be_visible()

    go(page, "Drawing check")
    expect(page.get_by_role("heading", name="Drawing check")).to_be_visible()
    expect(page.get_by_text("fails").first).to_be_visible()

    go(page, "Sizes")
    page.get_by_role("button", name="Choose", exact=True).click()
    keep = page.get_by_role("button", name="Keep these sizes")
    expect(keep).to_be_visible(timeout=90_000)
    keep.click()
    expect(page.get_by_role("status").first).to_contain_text("Saved as entries")

    page.goto(own_demo.address + "/bench/size/wheel@2R.bore")
    reading = page.get_by_label("It measures")
    reading.fill("159.0")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alertdialog")).to_contain_text(re.compile("times|far"))
    page.get_by_role("alertdialog").get_by_text("No, measure again").click()
    enter(page, "15.90")
    expect(page.get_by_role("main")).to_contain_text(re.compile("axle@2.*seat_right"))

    page.get_by_text("That was wrong").click()
    page.get_by_role("button", name=re.compile("Withdraw|Take it back")).click()
    expect(page.get_by_role("status").first).to_contain_text("no longer counts")

    page.goto(own_demo.address + "/what-if?size=wheel.tread&to=101")
    expect(page.get_by_role("heading", name="What would move")).to_be_visible()

    go(page, "Last look")
    page.get_by_role("link", name=re.compile("second wheel on axle, quartered@1")).first.click()
    expect(page.get_by_role("main")).to_contain_text(re.compile("stop", re.IGNORECASE))


def test_a_drawn_size_is_shown_back_while_it_is_typed_and_saved_in_place(window, own_demo):
    page = window()
    page.goto(own_demo.address + "/parts/wheel")
    field = page.get_by_label("boss_width, as drawn")
    field.fill("1 3/16")
    expect(page.locator("#how-boss_width")).to_have_text("1 3/16 in = 30.1625 mm")
    field.fill("9/16 x")
    expect(field).to_have_attribute("aria-invalid", "true")
    field.fill("35/64")
    page.get_by_role("button", name="Save what is changed").click()
    expect(page.get_by_role("status").first).to_contain_text("1 size saved")
    expect(page.get_by_label("boss_width, as drawn")).to_have_value("35/64")


def test_two_windows_on_one_size_both_stand_in_the_history(window, own_demo):
    one, two = window(), window("phone")
    for page in (one, two):
        page.goto(own_demo.address + "/bench/size/wheel@2R.bore")
    enter(one, "15.90")
    enter(two, "15.91")
    one.goto(own_demo.address + "/history?about=bore")
    for figure in ("15.90", "15.91"):
        expect(one.get_by_text(figure).first).to_be_visible()


def test_the_keyboard_alone_reaches_and_saves(window, own_demo):
    page = window()
    page.goto(own_demo.address + "/bench/size/wheel@2R.bore")
    page.keyboard.press("Tab")
    for _ in range(60):
        if page.evaluate("document.activeElement.id") == "f-reading":
            break
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "f-reading"
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none"
    page.keyboard.type("15.90")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Saved")).to_be_visible()


def test_the_first_link_leads_to_the_page(window, shown_demo):
    page = window()
    page.goto(shown_demo.address + "/findings")
    page.keyboard.press("Tab")
    expect(page.get_by_text("To the page")).to_be_focused()
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == "#main"


def test_the_first_page_is_light(window, shown_demo):
    """Under 300 KB in all, without photographs: what a phone loads over a slow network."""
    page, sizes = window("phone"), []
    page.on("response", lambda answer: sizes.append(len(answer.body())))
    page.goto(shown_demo.address)
    page.wait_for_load_state("networkidle")
    assert sum(sizes) < 300_000
