"""Wheels and rods, gaps and valves as plain data: the shapes of ``asmade wheels|gaps|diagnose|valves --json``."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import Field

from asmade.web.api_shapes import Asked, Text
from asmade.web.desk import AtDesk

router = APIRouter(tags=["motion"])
Which = Literal["best", "drawn", "chosen", "made"]


@router.get("/wheels")
def wheels(desk: AtDesk, binding: str = "", wanted: str = "", boxes: str = "") -> dict[str, Any]:
    """The coupled wheels through a turn: ``asmade wheels``."""
    from asmade.verbs import wheels as verb  # noqa: PLC0415
    from asmade.verbs import wheels_plain  # noqa: PLC0415

    look = desk.look()
    found = look.once(
        f"api wheels {binding}|{wanted}|{boxes}",
        lambda: verb.wheels_of(look.build, binding=binding, wanted=wanted, boxes=boxes),
    )
    return wheels_plain.plain(found)


@router.get("/gaps")
def gaps(
    desk: AtDesk, gap: str = "", wanted: str = "", side: str = "", near: str = "", curve: str = "", gauge: str = ""
) -> dict[str, Any]:
    """What comes near what: ``asmade gaps``."""
    from asmade.verbs import gaps as verb  # noqa: PLC0415
    from asmade.verbs import gaps_plain  # noqa: PLC0415

    look = desk.look()
    found = look.once(
        f"api gaps {(gap, wanted, side, near, curve, gauge)}",
        lambda: verb.gaps_of(look.build, gap=gap, wanted=wanted, side=side, near=near, curve=curve, gauge=gauge),
    )
    return gaps_plain.plain(found)


class Tight(Asked):
    """What was felt when the chassis was turned, each as ``asmade diagnose`` reads it."""

    observed: Annotated[list[Text], Field(min_length=1, max_length=24)]
    binding: Text = ""


@router.post("/diagnose")
def diagnose(desk: AtDesk, asked: Tight) -> dict[str, Any]:
    """From where it is tight to why: ``asmade diagnose``. Nothing is saved."""
    from asmade.verbs import diagnose as verb  # noqa: PLC0415

    return verb.plain(verb.diagnose_build(desk.look().build, asked.observed, binding=asked.binding))


@router.get("/valves")
def valves(desk: AtDesk, values: Which = "best", gear: str = "") -> dict[str, Any]:
    """Advice, then events at every reverser position: ``asmade valves``."""
    from asmade.verbs import valve_plain  # noqa: PLC0415
    from asmade.verbs import valves as verb  # noqa: PLC0415

    look = desk.look()
    found = look.once(f"api valves {values}|{gear}", lambda: verb.valves_of(look.build, values=values, gear_name=gear))
    return valve_plain.valves(found)


@router.get("/valves/set")
def setting(
    desk: AtDesk, values: Which = "best", gear: str = "", adjust: Annotated[str, Field(max_length=400)] = ""
) -> dict[str, Any]:
    """What to set to even the valves out; ``adjust`` parted by commas: ``asmade valves --set``."""
    from asmade.verbs import valve_plain  # noqa: PLC0415
    from asmade.verbs import valves as verb  # noqa: PLC0415

    names = tuple(each.strip() for each in adjust.split(",") if each.strip())
    return valve_plain.set_valves(
        verb.set_valves_of(desk.look().build, values=values, gear_name=gear, adjust=names)
    )  # fmt: skip


@router.get("/valves/matters")
def matters(desk: AtDesk, values: Which = "best", gear: str = "") -> dict[str, Any]:
    """Which length matters, and which part is worth remaking: ``asmade valves --matters``."""
    from asmade.verbs import valve_plain  # noqa: PLC0415
    from asmade.verbs import valves as verb  # noqa: PLC0415

    look = desk.look()
    found = look.once(
        f"api matters {values}|{gear}", lambda: verb.matters_of(look.build, values=values, gear_name=gear)
    )
    return valve_plain.matters(found)
