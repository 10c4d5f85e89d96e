"""The work of one frame while the board runs, in Chromium: scripts, style, layout, all; how many come in a second.

The floor is the same page with nothing running. Run ``python bench/board_frames.py``; prints JSON.
"""

from __future__ import annotations

import json
import shutil
import tempfile
import threading
import time
from pathlib import Path

import uvicorn
from playwright.sync_api import CDPSession, Page, sync_playwright

from asmade.verbs import demo
from asmade.web.app import create_app
from asmade.web.serve import bound

SECONDS = 4.0
NAMES = ("TaskDuration", "ScriptDuration", "LayoutDuration", "RecalcStyleDuration")
SHOWN = "() => { window.seen = 0; const on = () => { window.seen++; requestAnimationFrame(on) }; on() }"


def busy(tools: CDPSession) -> dict[str, float]:
    told = {each["name"]: each["value"] for each in tools.send("Performance.getMetrics")["metrics"]}
    return {name: float(told[name]) for name in NAMES}


def measured(page: Page, tools: CDPSession) -> dict[str, object]:
    before, began, seen = busy(tools), time.perf_counter(), page.evaluate("window.seen")
    time.sleep(SECONDS)
    count, after = page.evaluate("window.seen") - seen, busy(tools)
    return {
        "frames_per_second": round(count / (time.perf_counter() - began), 1),
        "frame_ms": {name: round(1000 * (after[name] - before[name]) / max(count, 1), 2) for name in NAMES},
    }


def main() -> None:
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        listening = bound(0)
        app = create_app(demo.demo(Path(folder)).path)
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False))
        threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True).start()
        browser = play.chromium.launch(executable_path=program, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": 1280, "height": 860})
        page.goto(f"http://127.0.0.1:{listening.getsockname()[1]}/")
        page.wait_for_load_state("networkidle")
        tools = page.context.new_cdp_session(page)
        tools.send("Performance.enable")
        page.evaluate(SHOWN)
        still = measured(page, tools)
        page.click("[data-run]")
        running = measured(page, tools)
        bodies = page.locator("[data-track]").count()
        browser.close()
        server.should_exit = True
    print(json.dumps({"bodies": bodies, "still": still, "running": running}, indent=1))


if __name__ == "__main__":
    main()
