"""Every page in a real browser, at the desk and on a phone, light and dark: nothing complains, nothing is cut off.

Rules of accessibility: WCAG 2.2 A and AA as tested by axe-core. A width of 360 px is the narrowest phone in use.
"""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe

from asmade.web.pages import every

SAMPLES = {
    "name": "wheel", "part": "wheel", "piece": "wheel@1L", "address": "wheel@1L.bore", "size": "wheel@1L.bore",
    "entry": "1", "number": "1", "key": "fit", "sum": "fit", "joint": "first wheel on axle@1", "side": "L",
    "group": "tool", "ending": "csv", "which": "buying", "digest": "0", "code": "0",
}  # fmt: skip
"""What stands for the variable pieces of an address."""
AXE = {
    "resultTypes": ["violations"],
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
}


def patterns() -> list[str]:
    """Every address of a page that can be asked for, as the routers know them."""
    found = {
        route.path for module in every() for route in module.router.routes if "GET" in (route.methods or ())
    }  # fmt: skip
    return sorted(found)


def filled(pattern: str) -> str:
    """An address with samples in it."""
    return re.sub(r"\{(\w+)(:\w+)?\}", lambda m: SAMPLES[m[1]].replace("#", "%23").replace(" ", "%20"), pattern)


def overflowing(page) -> list[str]:
    """What makes a page wider than its window, but for what scrolls in a frame of its own."""
    return page.evaluate("""() => {
        const wide = document.documentElement.clientWidth
        if (document.documentElement.scrollWidth <= wide) return []
        const framed = e => { for (let p = e.parentElement; p; p = p.parentElement) {
            if (["auto", "scroll", "hidden", "clip"].includes(getComputedStyle(p).overflowX) && p !== document.body
                && p !== document.documentElement) return true } return false }
        return [...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > wide + 1 && !framed(e))
            .map(e => `${e.tagName.toLowerCase()}.${e.className?.baseVal ?? e.className} ${Math.round(e.getBoundingClientRect().right)}`)
            .slice(0, 6)
    }""")


@pytest.mark.parametrize("pattern", patterns())
def test_a_page_complains_of_nothing_and_fits_at_every_width(pattern, window, shown_demo):
    first = window().request.get(shown_demo.address + filled(pattern))
    assert first.status < 500
    if not first.headers["content-type"].startswith("text/html"):
        return  # a file or an answer in JSON: its own tests look at it
    for width, scheme in (("desk", "light"), ("narrow", "dark")):
        page = window(width, scheme)
        answer = page.goto(shown_demo.address + filled(pattern))
        page.wait_for_load_state("networkidle")
        assert answer.status < 500
        assert overflowing(page) == []
        found = Axe().run(page, options=AXE).response["violations"]
        said = [f"{v['id']}: {v['help']}: {[n['html'][:160] for n in v['nodes'][:3]]}" for v in found]
        assert said == [], f"{width}, {scheme}"


@pytest.mark.parametrize(("width", "scheme"), [("desk", "dark"), ("phone", "light")])
def test_the_other_theme_at_each_width(width, scheme, window, shown_demo):
    page = window(width, scheme)
    for path in ("/", "/parts", "/findings", "/sizes", "/bench", "/components"):
        page.goto(shown_demo.address + path)
        found = Axe().run(page, options=AXE).response["violations"]
        assert [f"{path} {v['id']} {[n['html'][:160] for n in v['nodes'][:3]]}" for v in found] == []


def test_every_page_has_a_heading_and_prints(window, shown_demo):
    page = window()
    for path in ("/", "/part/wheel", "/findings", "/bench"):
        page.goto(shown_demo.address + path)
        assert page.locator("h1").count() == 1, path
        page.emulate_media(media="print")
        assert not page.locator(".rail").is_visible(), path
        assert page.pdf(format="A4", print_background=False).startswith(b"%PDF")
        page.emulate_media(media="screen")
