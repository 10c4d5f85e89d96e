"""Shop: machines, tools, instruments, adhesives, rack, each entered, changed and taken out; what readings taught."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import Response

from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.show.shop_pictures import dots_picture
from asmade.standards.capability import processes
from asmade.standards.materials import materials
from asmade.verbs import shop as verb
from asmade.web.both_widths import both
from asmade.web.desk import AtDesk, Desk, Fields, Form
from asmade.web.shop_fields import GROUPS, AtField, Group, field_of, table_of, written

if TYPE_CHECKING:
    from markupsafe import Markup

    from asmade.reckon.capability import Learned
    from asmade.web.seen import Look

router = APIRouter()
LINKS: Final = ((34, "Shop", "/shop"),)
SYSTEMS: Final = ("metric", "inch")


@router.get("/shop")
def shop(request: Request, desk: AtDesk) -> Response:
    """Everything of the shop at a glance, and what its readings have taught."""
    look = desk.look()
    return desk.page(
        request, "shop.html", view=look.shop, GROUPS=GROUPS, marks=_marks(look), materials=_materials(look),
        learned=look.once("learned", lambda: tuple((x, _dots(x)) for x in look.shop.learned)),
    )  # fmt: skip


def _materials(look: Look) -> tuple[str, ...]:
    """What the parts and the rack are made of, each name once."""
    named = {p.material for p in look.build.design.parts.values()} | {line.material for line in look.shop.shop.stock}
    return tuple(sorted(name for name in named if name))


def _marks(look: Look) -> list[str]:
    return [verb.mark_of(line) for line in look.shop.tables.get("stock", ())]


def _dots(found: Learned) -> Markup:
    ends = found.belief.next_interval()
    words = f"{found.tool or found.process}, readings less what was aimed at, micrometres"
    return both(lambda width: dots_picture(found.departures, ends, width), words, desk_px=620.0)


def _group(name: str) -> Group:
    found = GROUPS.get(name)
    if found is None:
        raise Unknown("group of the shop", got=name, near=near(name, GROUPS), way_out="see the shop")
    return found


@router.get("/shop/habits")
def habits(request: Request, desk: AtDesk) -> Response:
    """To what step sizes are rounded, and in which systems bar and tools are bought."""
    return _habits(request, desk)


def _habits(
    request: Request, desk: Desk, *, status: int = 200, refused: AsmadeError | None = None, at: str = "",
    form: Fields | None = None,
) -> Response:  # fmt: skip
    tables = desk.look().shop.tables
    return desk.page(request, "shop_habits.html", status=status, steps=dict(tables.get("rounding", {})),
                     buys=tables.get("buys") or ["metric"], processes=processes(), SYSTEMS=SYSTEMS, refused=refused,
                     at=at, form=form)  # fmt: skip


@router.post("/shop/habits")
def save_habits(request: Request, desk: AtDesk, form: Form) -> Response:
    """Save both; a step left empty is none."""
    steps = {key[5:]: text for key, text in form.items() if key.startswith("step.") and text}
    buys = [each for each in form.every.get("buys", []) if each in SYSTEMS]
    at = "buys"
    try:
        if not buys:
            raise Refused("bought", got="", reason="neither metric nor inch is chosen", way_out="choose at least one")
        at = ""
        tables: dict[str, Any] = {"buys": buys, "rounding": steps}
        held = desk.look().shop.tables
        verb.put(desk.book.path, tables, remove=["rounding"] if "rounding" in held else ())
    except AsmadeError as fault:
        process = str(getattr(fault, "thing", "")).rpartition(".")[2]
        return _habits(request, desk, status=422, refused=fault, at=at or process, form=form)
    return desk.go("/shop", "Saved: how sizes are rounded here, and what is bought.")


@router.get("/shop/{group}/entry")
def entry(request: Request, desk: AtDesk, group: str, name: str = "") -> Response:
    """One entry to change, or an empty form for a new one."""
    return _entry(request, desk, _group(group), name)


def _entry(
    request: Request, desk: Desk, group: Group, was: str, *, status: int = 200, refused: AsmadeError | None = None,
    at: str = "", form: Fields | None = None,
) -> Response:  # fmt: skip
    given = {f.path: form[f.path] for f in group.every} if form else written(group, _held(desk, group, was))
    several = {f.path: form.every.get(f.path, []) if form else given[f.path].split() for f in group.every
               if f.writes == "several"}  # fmt: skip
    return desk.page(
        request, "shop_entry.html", status=status, group=group, was=was, given=given, several=several, refused=refused,
        at=at, called=form["name"] if form else was,
        materials=tuple(dict.fromkeys((*(p.material for p in desk.look().build.design.parts.values() if p.material),
                                       *(one.title for one in materials())))),
    )  # fmt: skip


def _held(desk: Desk, group: Group, was: str) -> dict[str, Any]:
    """The entry as the book has it: by its name, or a line of the rack by its mark; nothing for a new one."""
    tables = desk.look().shop.tables
    if not was:
        return {}
    if group.name == "stock":
        lines = tables.get("stock", ())
        found = next((line for line in lines if verb.mark_of(line) == was), None)
    else:
        found = tables.get(group.name, {}).get(was)
    if found is None:
        raise Unknown(group.title.lower(), got=was[:80], way_out="it was changed meanwhile: see the shop")
    return dict(found)


@router.post("/shop/{group}/entry")
def save(request: Request, desk: AtDesk, group: str, form: Form) -> Response:
    """Save one entry whole."""
    of, was = _group(group), form["was"]
    try:
        table = table_of(of, form, form.every, _held(desk, of, was))
        if of.name == "stock":
            verb.put_stock(desk.book.path, table, was=was)
        else:
            verb.put_entry(desk.book.path, of.name, form["name"], table, was=was)
    except AtField as fault:
        return _entry(request, desk, of, was, status=422, refused=fault.fault, at=fault.path, form=form)
    except AsmadeError as fault:
        return _entry(request, desk, of, was, status=422, refused=fault, at=field_of(of, fault), form=form)
    return desk.go(f"/shop#{of.name}", f"Saved: {form['name'] or table.get('size', '')}".strip())


@router.post("/shop/{group}/remove")
def remove(request: Request, desk: AtDesk, group: str, form: Form) -> Response:
    """Take one entry out; what was made with it keeps its name in the history."""
    of, was = _group(group), form["was"]
    try:
        _held(desk, of, was)
        if of.name == "stock":
            verb.put_stock(desk.book.path, None, was=was)
        else:
            verb.put(desk.book.path, {}, remove=[f"{of.name}.{was}"])
    except Unknown as fault:
        raise Refused("entry", got=was[:80], reason=fault.message, way_out="see the shop") from fault
    except AsmadeError as fault:
        return _entry(request, desk, of, was, status=422, refused=fault, at="name")
    return desk.go(f"/shop#{of.name}", f"Taken out: {was if of.name != 'stock' else 'a line of the rack'}. "
                                       "The history still has it.")  # fmt: skip


def entry_path(group: str, name: str) -> str:
    """Where an entry is changed."""
    return f"/shop/{group}/entry?name={quote(name, safe='')}"
