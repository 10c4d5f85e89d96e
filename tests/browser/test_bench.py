"""The bench in a real browser: calipers that type, the pad, goes and stops, several readings, steps, timers, both themes."""

from __future__ import annotations

import re
import threading
import time

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe

from asmade.verbs import demo, joined
from asmade.verbs.history import history
from asmade.verbs.made import made
from asmade.web.app import create_app
from asmade.web.serve import bound

JOINT = "second wheel on axle, quartered@1"
SEAT = "axle@2.seat_right.diameter"


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    path = demo.demo(tmp_path_factory.mktemp("bench")).path
    made(path, "axle@1.seat_right.diameter", ["15.85"])
    joined.joined(path, JOINT, despite="trial pieces")
    return path


@pytest.fixture(scope="module")
def base(book):
    sockets = [bound(0)]
    config = uvicorn.Config(create_app(book), log_level="error", access_log=False, lifespan="off")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": sockets})
    thread.start()
    yield f"http://127.0.0.1:{sockets[0].getsockname()[1]}"
    server.force_exit = server.should_exit = True
    thread.join(20)


@pytest.fixture
def at(chromium, base):
    """A page at the desk's width; what its scripts complain of is a failure."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, base_url=base)
    page = context.new_page()
    faults = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    yield page
    context.close()
    assert faults == []


def until(page, expression, *, seconds=20):
    end = time.monotonic() + seconds
    while not page.evaluate(expression):
        assert time.monotonic() < end, (expression, page.inner_text("main")[:500])
        time.sleep(0.05)


def last(book):
    return history(book)[-1]


def test_calipers_type_digits_and_enter_wherever_the_focus_is(at, book):
    at.goto("/bench/size/axle@2.seat_left.diameter")
    aim = at.inner_text(".aim .target")
    at.evaluate("document.activeElement.blur()")
    at.keyboard.type(aim)
    assert at.input_value("#f-reading") == aim
    until(at, "document.querySelector('[data-readback]').textContent.includes('within the limits')")
    at.keyboard.press("Enter")
    at.wait_for_selector("h1:has-text('Saved')")
    assert last(book).body["reading"] == aim
    assert last(book).body["stage"] == "finished"


def test_several_readings_with_enter_between_them(at, book):
    at.goto("/bench/size/wheel@2R.bore")
    assert at.is_hidden("[data-several]")
    at.fill("#f-reading", "15.90; ")
    at.type("#f-reading", "15.91")
    at.keyboard.press("Enter")  # ends one, saves nothing
    at.type("#f-reading", "15.92")
    assert at.is_visible("[data-several]")
    at.check("[name=several][value=repeats]")
    until(at, "/3 readings, spread 0.020/.test(document.querySelector('[data-readback]').textContent)")
    at.click(".entry .btn")
    at.wait_for_selector("h1:has-text('Saved')")
    assert last(book).body["repeats"] == ["15.90", "15.91", "15.92"]


def test_a_plug_that_goes_and_one_that_stops(at, book):
    at.goto("/bench/size/wheel@2R.pin_hole")
    at.click("text=Tried with a plug or gauge")
    for text, button in (("6.34", "This goes"), ("6.36", "This stops")):
        at.fill("#f-reading", text)
        at.click(f"text={button}")
        assert at.input_value("#f-reading") == ""
    at.click("text=Save goes and stops")
    at.wait_for_selector("h1:has-text('Saved'), .ask")
    if at.is_visible(".ask"):  # far from what is expected, or one is there already
        at.click(".ask .answers button >> nth=1")
        at.wait_for_selector("h1:has-text('Saved')")
    assert (last(book).body["goes"], last(book).body["stops"]) == ("6.34", "6.36")


def test_one_operation_after_another_by_keyboard_and_the_stage_is_asked(at, book):
    at.goto("/bench/steps/axle@2")
    count = at.locator("[data-step]").count()
    assert at.locator("[data-step]:visible").count() == 1
    at.focus("[data-step='1'] a[data-to='2']")
    at.keyboard.press("Enter")
    assert at.locator("[data-step]:visible").get_attribute("data-step") == "2"
    assert count > 3
    at.goto(f"/bench/size/{SEAT}")
    at.fill("#f-reading", "16.42")
    until(at, "document.querySelector('[data-readback]').textContent.includes('still to come off')")
    at.keyboard.press("Enter")
    at.wait_for_selector(".ask")
    assert "No, measure again" in at.evaluate("document.activeElement.textContent")
    at.click("text=On the way: more comes off")
    at.wait_for_selector("h1:has-text('Saved')")
    at.click("text=What is still to come off")
    assert "from 16.420" in re.sub(r"\s+", " ", at.inner_text("#togo"))


def test_what_cures_counts_down_right_after_a_reload_and_is_there_without_scripts(at, chromium, base):
    at.goto("/bench")
    until(at, "/\\d+ (min|h)/.test(document.querySelector('.waits .left')?.textContent ?? '')")
    at.reload()
    until(at, "/\\d+ (min|h)/.test(document.querySelector('.waits .left')?.textContent ?? '')")
    context = chromium.new_context(java_script_enabled=False, base_url=base)
    page = context.new_page()
    page.goto("/bench")
    assert re.search(
        r"not to be handled until \d{4}-\d\d-\d\d \d\d:\d\d", re.sub(r"\s+", " ", page.inner_text(".waits"))
    )
    page.goto("/bench/size/wheel@2R.bore")
    assert page.is_hidden(".pad")
    assert page.is_visible("[data-several]")
    context.close()


def test_the_screen_is_kept_awake(at):
    at.add_init_script("window.asked = []; navigator.wakeLock.request = async (what) => { window.asked.push(what); "
                       "return { addEventListener() {} }; };")  # fmt: skip
    at.goto("/bench")
    until(at, "window.asked.length > 0")
    assert at.evaluate("window.asked") == ["screen"]


PAGES = ("/bench", f"/bench/size/{SEAT}", "/bench/steps/axle@2?step=4", "/last-look", f"/last-look/{JOINT}",
         "/last-look/piston rod fixed in crosshead@L", "/pairing", "/pair")  # fmt: skip


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_pages_are_usable_by_everybody_in_both_themes_on_a_narrow_phone(chromium, base, theme):
    context = chromium.new_context(
        viewport={"width": 360, "height": 740}, color_scheme=theme, has_touch=True, is_mobile=True, base_url=base
    )
    page = context.new_page()
    for path in PAGES:
        page.goto(path)
        page.wait_for_load_state("networkidle")
        assert page.evaluate("document.documentElement.scrollWidth") == 360, path
        found = Axe().run(page).response["violations"]
        assert [(each["id"], each["nodes"][0]["html"]) for each in found] == [], path
        small = page.evaluate(
            "[...document.querySelectorAll('.pad button:not([hidden])')].filter((b) => b.offsetHeight && b.offsetHeight < 44).length"
        )
        assert small == 0
    context.close()
