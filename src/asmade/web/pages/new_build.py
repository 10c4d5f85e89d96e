"""New build: arrangement, valve gear, unit of the drawing, a shop; then its drawn sizes, part by part."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from markupsafe import Markup

from asmade.book.arrangements import ARRANGEMENTS, Arrangement, valve_gears
from asmade.book.kinds import KINDS
from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.show.shop_pictures import arrangement_picture
from asmade.verbs import books, fill, new
from asmade.verbs.demo import demo_text
from asmade.verbs.fill import PartToFill
from asmade.web.both_widths import one
from asmade.web.desk import AtDesk, Desk, Fields, Form
from asmade.web.figures import part_path

if TYPE_CHECKING:
    from asmade.web.seen import Look

router = APIRouter()
LINKS: Final = ((19, "Drawn sizes", "/fill"), (40, "New build", "/new"))
SKETCH_PX: Final = 330.0
SIZES: Final = 60  # of one part on one page: a form is limited in its fields
COUNTED: Final = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight")
ORDINALS: Final = ("", "first", "second", "third", "fourth")
SHOPS: Final = {
    "empty": "an empty shop, to be filled in",
    "this": "as the shop of the book that is open now",
    "demo": "as the invented shop of the demo, to be changed",
}


def words_of(wheels: Arrangement) -> str:
    """An arrangement in plain words."""
    carrying = [
        f"{COUNTED[2 * count]} carrying wheels {where}"
        for count, where in ((wheels.ahead, "ahead"), (wheels.behind, "behind"))
        if count
    ]
    coupled = f"{COUNTED[2 * wheels.coupled]} wheels coupled"
    return f"{', '.join([coupled, *carrying])}; usually driven: the {ORDINALS[wheels.driven]} coupled axle"


@router.get("/new")
def start(request: Request, desk: AtDesk) -> Response:
    """What a new build begins with."""
    return _start(request, desk)


def _start(
    request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None, at: str = "",
    form: Fields | None = None,
) -> Response:  # fmt: skip
    choices = [
        (each, words_of(each), one(arrangement_picture(each.ahead, each.coupled, each.behind, each.driven),
                                   f"{each.name}: {words_of(each)}", width_px=190.0))
        for each in ARRANGEMENTS.values()
    ]  # fmt: skip
    return desk.page(
        request, "new_build.html", status=status, choices=choices, gears=valve_gears(), SHOPS=SHOPS, refused=refused,
        at=at, form=form or Fields(), folder=desk.book.path.absolute().parent.name,
    )  # fmt: skip


@router.post("/new")
def begin(request: Request, desk: AtDesk, form: Form) -> Response:
    """Compose the book of an arrangement from the kits, and open it."""
    at = "title"
    try:
        if not form["title"]:
            raise Refused("name of the build", got="", reason="it has none", way_out="say what you call it")
        path = books.name_for(desk.book.path.absolute().parent, form["title"])
        at = "shop"
        shop = _shop(desk, form["shop"])
        at = "arrangement"
        result = new.new(
            path, arrangement=form["arrangement"], unit=form["unit"], title=form["title"], rods=form["rods"],
            driven=form["driven"], leads=form["leads"], gear=form["gear"], shop=shop,
        )  # fmt: skip
    except AsmadeError as fault:
        at = _field_of(fault, form, at)
        return _start(request, desk, status=422, refused=fault, at=at, form=form)
    desk.open(path)
    return desk.go("/fill", f"{form['title']} is begun and open ({path.name}): {result.parts} parts, "
                            f"{len(result.to_fill_in)} sizes to fill in, {result.relations} relations.")  # fmt: skip


def _shop(desk: Desk, which: str) -> dict[str, Any]:
    if which not in SHOPS:
        raise Unknown("shop", got=which, near=near(which, SHOPS), way_out=f"one of: {', '.join(SHOPS)}")
    if which == "demo":
        import tomllib  # noqa: PLC0415  # only where it is chosen

        return dict(tomllib.loads(demo_text())["shop"])
    return dict(desk.look().build.tables.get("shop", {})) if which == "this" else {}


def _field_of(fault: AsmadeError, form: Fields, otherwise: str) -> str:
    """The field that a refusal speaks of, by what it could not read."""
    got = getattr(fault, "got", None)
    fields = ("arrangement", "unit", "rods", "driven", "leads", "gear", "shop")
    return next((name for name in fields if got and got == form[name]), otherwise)


@router.get("/fill")
def overview(request: Request, desk: AtDesk) -> Response:
    """How complete the drawn sizes are, sheet by sheet and part by part."""
    return _overview(request, desk)


def _overview(
    request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None, form: Fields | None = None
) -> Response:  # fmt: skip
    look = desk.look()
    parts = look.once("to fill", lambda: fill.to_fill(look.build))
    sheets: dict[str, list[PartToFill]] = {}
    for each in parts:
        sheets.setdefault(each.part.reference, []).append(each)
    return desk.page(
        request, "fill.html", status=status, sheets=sheets, wanted=sum(p.wanted for p in parts),
        drawn=sum(p.drawn for p in parts), next_part=_next(parts), unit=look.build.design.drawing_unit,
        check=look.drawing, refused=refused, form=form or Fields(),
    )  # fmt: skip


def _next(parts: tuple[PartToFill, ...], after: str = "") -> str:
    """The next part that lacks a size, from ``after`` on and round again."""
    names = [each.part.name for each in parts]
    at = names.index(after) + 1 if after in names else 0
    return next((p.part.name for p in (*parts[at:], *parts[:at]) if p.drawn < p.wanted), "")


@router.get("/fill/read")
def read_as(desk: AtDesk, address: str = "", text: str = "") -> Response:
    """How a size would be read, while it is typed."""
    try:
        said = {"how": fill.read_as(desk.look().build, address[:200], text[:400]), "fault": ""}
    except AsmadeError as fault:
        said = {"how": "", "fault": f"{fault.message} {fault.way_out}".strip()}
    return JSONResponse(said, headers={"cache-control": "no-store"})


@router.post("/fill/part")
def new_part(request: Request, desk: AtDesk, form: Form) -> Response:
    """Add a part to the book."""
    try:
        fill.add_part(desk.book.path, form["name"], places=form["places"], material=form["material"],
                      reference=form["reference"])  # fmt: skip
    except AsmadeError as fault:
        return _overview(request, desk, status=422, refused=fault, form=form)
    return desk.go("/fill", "The part is in the book. Open it to add its dimensions.")


@router.get("/fill/part/{name}")
def one_part(request: Request, desk: AtDesk, name: str, page: int = 1) -> Response:
    """The drawn sizes of one part, all in one form."""
    return _part(request, desk, name, page=page)


def _part(
    request: Request, desk: Desk, name: str, *, page: int = 1, status: int = 200,
    refused: dict[str, AsmadeError] | None = None, form: Fields | None = None,
) -> Response:  # fmt: skip
    look = desk.look()
    parts = look.once("to fill", lambda: fill.to_fill(look.build))
    found = next((each for each in parts if each.part.name == name), None)
    if found is None:
        raise Unknown("part", got=name, near=near(name, look.build.design.parts), way_out="see all parts")
    pages = max(1, -(-len(found.sizes) // SIZES))
    page = min(max(page, 1), pages)
    spoken = re.compile(rf"(?<!\w){re.escape(name)}[.@]")
    about = [f for f in look.drawing.findings if spoken.search(f"{f.subject} {f.working}")]
    return desk.page(
        request, "fill_part.html", status=status, at=found, sizes=found.sizes[(page - 1) * SIZES : page * SIZES],
        page=page, pages=pages, unit=look.build.design.drawing_unit, refused=refused or {}, form=form or Fields(),
        next_part=_next(parts, name), found=about, kinds=tuple(KINDS.values()),
        sketch=look.once(f"drawn sketch {name}", lambda: _sketch(look, name)),
    )  # fmt: skip


def _sketch(look: Look, name: str) -> Markup | str:
    """The part's sketch with its drawn figures; while it cannot be drawn yet, why."""
    from asmade.show.sketches import sketch_svg  # noqa: PLC0415  # shapes only where they are drawn
    from asmade.verbs.sketch import sketch_in  # noqa: PLC0415

    try:
        return Markup(sketch_svg(sketch_in(look.build, look.values, name, figures="drawn"), width_px=SKETCH_PX))  # noqa: S704  # texts are escaped there
    except AsmadeError as fault:
        return fault.message


@router.post("/fill/part/{name}")
def save(request: Request, desk: AtDesk, name: str, form: Form) -> Response:
    """Save what is new or changed; if one is refused, nothing is saved."""
    page = int(form["page"]) if form["page"].isdecimal() else 1
    sizes = {f"{name}.{key[2:]}": text for key, text in form.items() if key.startswith("d.")}
    try:
        said = fill.say_of_part(desk.book.path, name, material=form["material"])
        result = fill.fill(desk.book.path, sizes, reference=form["reference"])
    except AsmadeError as fault:
        return _part(request, desk, name, page=page, status=422, refused={"": fault}, form=form)
    if result.refused:
        return _part(request, desk, name, page=page, status=422, refused=dict(result.refused), form=form)
    count = len(result.saved.entries) if result.saved else 0
    words = f"{count} size{'s' if count != 1 else ''} of {name} saved." if count else ""
    words = words or ("Saved." if said else "All of this stood so already; there was nothing to save.")
    parts = fill.to_fill(desk.look().build)
    after = _next(parts, name) if form["on"] else name
    return desk.go(f"/fill/part/{part_path(after or name).removeprefix('/parts/')}", words)


@router.post("/fill/dimension")
def new_dimension(request: Request, desk: AtDesk, form: Form) -> Response:
    """Add a dimension to a part."""
    try:
        fill.add_dimension(desk.book.path, form["part"], form["name"], form["kind"], form["text"],
                           reference=form["reference"])  # fmt: skip
    except AsmadeError as fault:
        return _part(request, desk, form["part"], status=422, refused={"+": fault}, form=form)
    path = part_path(form["part"]).removeprefix("/parts/")
    return desk.go(f"/fill/part/{path}", f"{form['name']} is a dimension of {form['part']} now.")
