"""Phones of the home network: the code and its QR picture at the desk, paired devices, the page a phone pairs on."""

from __future__ import annotations

import io
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from asmade.measure.errors import AsmadeError, Unknown
from asmade.web import devices
from asmade.web.desk import AtDesk, Desk, Form
from asmade.web.home_network import OPENS, HomeNetwork

router = APIRouter()
LINKS: Final = ((59, "Phones", "/pairing"),)
START: Final = "/bench/carried"
"""Where a phone begins: it works there with and without a network."""


def _home(request: Request) -> HomeNetwork | None:
    found: HomeNetwork | None = request.app.state.home
    return found


@router.get("/pairing")
def pairing(request: Request, desk: AtDesk) -> Response:
    """At the desk: how a phone comes in, and which have."""
    home = _home(request)
    return desk.page(
        request, "pairing.html", home=home, code=home.devices.code if home else None, OPENS=OPENS,
        devices=home.devices.every() if home else (), TRIES=devices.TRIES, book=desk.book.path.name,
    )  # fmt: skip


@router.get("/pairing/qr.svg")
def picture(request: Request) -> Response:
    """The address with the code, to be photographed by the phone."""
    import segno  # noqa: PLC0415  # only where it is shown

    home = _home(request)
    code = home.devices.code if home else None
    if home is None or code is None:
        raise Unknown("code", got="none", way_out="make one on the page Phones")
    drawn = io.BytesIO()
    segno.make(_address(home, code.text), micro=False).save(
        drawn, kind="svg", scale=6, border=4, light="#fff", dark="#000", xmldecl=False
    )
    return Response(drawn.getvalue(), media_type="image/svg+xml", headers={"cache-control": "no-store"})


def _address(home: HomeNetwork, code: str) -> str:
    return f"{home.url}/pair?code={code}"


@router.post("/pairing/code")
def code(request: Request, desk: AtDesk, form: Form) -> Response:  # noqa: ARG001  # its token is looked at
    """A new code."""
    home = _home(request)
    if home is not None:
        home.devices.new_code()
    return desk.go("/pairing")


@router.post("/pairing/revoke")
def revoke(request: Request, desk: AtDesk, form: Form) -> Response:
    """Let a device go."""
    home = _home(request)
    if home is None:
        raise Unknown("device", got=form["number"][:20], way_out="start with --lan")
    gone = home.devices.revoke(form["number"])
    return desk.go("/pairing", f"{gone.name} is let go: it must be paired again.")


@router.get("/pair")
def ask(request: Request, desk: AtDesk, code: str = "") -> Response:
    """On the phone: the code is typed, or stands there from the QR picture."""
    return _ask(request, desk, code)


def _ask(request: Request, desk: Desk, code: str, *, status: int = 200, refused: AsmadeError | None = None) -> Response:
    return desk.page(request, "pairing_ask.html", block=False, status=status, code=code[:12], refused=refused,
                     START=START, known=request.scope.get("at_the_desk", False))  # fmt: skip


@router.post("/pair")
def pair(request: Request, desk: AtDesk, form: Form) -> Response:
    """Pair the device that sends this."""
    home = _home(request)
    try:
        if home is None:
            raise Unknown("home network", got="this machine alone", way_out="start asmade with --lan at the desk")
        secret = home.devices.pair(form["code"], form["name"] or _calls_itself(request))
    except AsmadeError as fault:
        return _ask(request, desk, form["code"], status=403, refused=fault)
    answer = RedirectResponse(START, status_code=303)
    answer.set_cookie(
        devices.COOKIE, secret, max_age=devices.A_YEAR, httponly=True, samesite="strict", secure=home.secure
    )
    return answer


def _calls_itself(request: Request) -> str:
    """What kind of device it says it is; only to tell one from another in the list."""
    agent = request.headers.get("user-agent", "")
    kinds = ("Android", "iPhone", "iPad", "Windows", "Macintosh", "Linux")
    return next((kind for kind in kinds if kind in agent), "a device")
