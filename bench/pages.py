"""Server time and size of every page at a book of 5,000 sizes (or the demo), and a reading saved to its verdicts.

Each page is asked for once (``first_ms``: everything it shows worked out) and then several times (``ms``, the least).
The floor is a bare FastAPI page of as many bytes in the same run; a reading is the form sent and the page that follows,
``after_ms`` the first look at a page once a reading was saved.
Run ``python bench/pages.py [stacks | demo]``; prints JSON.
"""

from __future__ import annotations

import json
import re
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

from fastapi import FastAPI
from fastapi.responses import HTMLResponse

import synthetic
from asmade.verbs import demo, store
from asmade.web.app import create_app

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # starlette asks for a successor of httpx that is not pinned yet
    from starlette.testclient import TestClient

BASE = "http://127.0.0.1:8640"
TIMES = 5
READINGS = 4


def timed(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - begin)


def floor_of(count: int) -> float:
    """Milliseconds of a bare page of ``count`` bytes."""
    app = FastAPI()
    text = "x" * count

    @app.get("/")
    def page() -> HTMLResponse:
        return HTMLResponse(text)

    client = TestClient(app)
    client.get("/")
    return min(timed(lambda: client.get("/")) for _ in range(TIMES))


def token_of(client: TestClient) -> str:
    return re.search(r'name="token" value="([0-9a-f]+)"', client.get("/history/1").text)[1]


def main() -> None:
    asked = sys.argv[1] if len(sys.argv) > 1 else "50"
    with tempfile.TemporaryDirectory() as folder:
        if asked == "demo":
            path, part, dim, reading, instrument = demo.demo(folder).path, "wheel", "bore", 15.90, ""
            place = "2R"
        else:
            path = Path(folder) / "synthetic.asmade"
            store.start(path, synthetic.drafts(int(asked)))
            part, dim, reading, instrument, place = "part_3_4", "hole", 9.53, "mic", "engine"
        size = f"{part}@{place}.{dim}"
        client = TestClient(create_app(path), base_url=BASE)
        build = store.read(path).build
        fit = next(build.design.of_kind("fit"))
        at = f"@{fit.places[0]}" if fit.places else ""
        pages = {
            "board": "/", "parts": "/parts", "part": f"/parts/{part}", "size": f"/size/{size}", "findings": "/findings",
            "finding": f"/finding?code=fit&subject={quote(fit.name + at)}", "drawing check": "/drawing",
            "sizes": "/sizes", "shop": "/shop", "history": "/history", "bench": "/bench",
            "size at the bench": f"/bench/size/{size}", "new build": "/fill", "set-ups": "/setups", "record": "/record",
            "wheels": "/wheels", "gaps": "/gaps", "valves": "/valves", "last look": "/last-look",
            "cutting list": "/stock", "what if": "/what-if", "quick sums": "/sums",
        }  # fmt: skip
        found: dict[str, dict[str, object]] = {}
        for name, page in pages.items():
            answers = []
            first = timed(lambda page=page, answers=answers: answers.append(client.get(page)))
            answer = answers[0]
            best = min(timed(lambda page=page: client.get(page)) for _ in range(TIMES))
            floor = floor_of(len(answer.content))
            found[name] = {"status": answer.status_code, "bytes": len(answer.content), "first_ms": first, "ms": best,
                           "over_floor": best / floor}  # fmt: skip
        token = token_of(client)
        saved, after = [], []
        for k in range(READINGS):
            sent = {"token": token, "address": size, "reading": f"{reading + 0.002 * k:.3f}", "instrument": instrument,
                    "key": f"benchmark-{k}", "sure": "1", "stage": "finished"}  # fmt: skip

            def send(sent: dict[str, str] = sent) -> None:
                answer = client.post("/bench/reading", data=sent, headers={"origin": BASE}, follow_redirects=True)
                if answer.status_code != 200 or "/bench/saved/" not in str(answer.url):
                    raise SystemExit(f"not saved: {answer.status_code} {answer.url}")

            saved.append(timed(send))
            after.append({n: timed(lambda n=n: client.get(pages[n])) for n in ("board", "findings", "bench", "parts")})
        print(json.dumps({
            "book": asked, "sizes": sum(len(p.dims) * len(p.places) for p in build.design.parts.values()),
            "pages": found,
            "slowest_page_ms": max(float(str(f["ms"])) for f in found.values()),
            "reading_to_verdicts_first_ms": saved[0], "reading_to_verdicts_ms": min(saved[1:]),
            "bare_page_ms": floor_of(5_000), "reading_over_bare_page": min(saved[1:]) / floor_of(5_000),
            "after_ms": {n: min(each[n] for each in after) for n in after[0]},
        }, indent=2))  # fmt: skip


if __name__ == "__main__":
    main()
