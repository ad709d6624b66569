"""Letting a phone in: the code at the bench, and the page on the phone that takes it."""

from dataclasses import dataclass
from typing import Annotated

import segno
from fastapi import APIRouter, Form, Query, Request, Response

from laydown.errors import NotLetInError
from laydown.web.desk import AtDesk
from laydown.web.faces import changes, go_to, shows
from laydown.web.phone import Phone
from laydown.web.phone_door import COOKIE, FROM_PHONE, PAIR, address_of, cookie_of
from laydown.web.rendering import render

router = APIRouter()
LONGEST_CODE = 40
SCALE = 6
"""Of the QR code [pixels per module]."""
Code = Annotated[str, Query(max_length=LONGEST_CODE)]
SentCode = Annotated[str, Form(max_length=LONGEST_CODE)]


@dataclass(frozen=True, slots=True)
class PhoneAtTheBench:
    """How it stands with the phone.

    Parameters
    ----------
    is_open
        Whether the bench was opened to the home network at all.
    is_paired
        Whether a phone was let in.
    address
        Where the phone finds the bench; empty where it isn't open.
    code
        That lets a phone in now, in two halves; empty where none does.
    minutes
        How long it stands, rounded up.
    picture
        The address with the code as a QR code, as SVG.
    """

    is_open: bool = False
    is_paired: bool = False
    address: str = ""
    code: str = ""
    minutes: int = 0
    picture: str = ""


@shows(router, "/phone", "phone.html.j2")
def at_the_bench(desk: AtDesk) -> PhoneAtTheBench:
    """Show whether a phone was let in, and the code for one that wants to be."""
    phone = desk.phone
    if phone is None:
        return PhoneAtTheBench()
    address, code = f"http://{phone.host}{PAIR}", phone.code
    if code is None:
        return PhoneAtTheBench(is_open=True, is_paired=phone.is_paired, address=address)
    return PhoneAtTheBench(
        is_open=True,
        address=address,
        code=code.in_two(),
        minutes=phone.seconds_left // 60 + 1,
        picture=_picture(f"{address}?code={code.text}"),
    )


@changes(router, "/phone/code", leads_to=lambda _: "/phone", says=lambda _: "")
def new_code(desk: AtDesk) -> PhoneAtTheBench:
    """Make a code; a phone that was let in before is let in no longer."""
    _opened(desk).make_code()
    return at_the_bench(desk)


@changes(router, "/phone/forget", leads_to=lambda _: "/phone", says=lambda _: "The phone is out.")
def forget(desk: AtDesk) -> PhoneAtTheBench:
    """Let the phone in no longer."""
    _opened(desk).forget()
    return at_the_bench(desk)


@router.get(PAIR, response_class=Response)
def on_the_phone(request: Request, desk: AtDesk, code: Code = "") -> Response:
    """Ask on the phone for the code; a code in the address is filled in, and still has to be sent.

    Looking changes nothing, so that a browser that looks ahead doesn't use the code up.
    """
    phone = desk.phone
    let_in = phone is not None and phone.knows(
        cookie_of(request.scope), address=address_of(request.scope)
    )
    return render(request, "pair.html.j2", code=code, let_in=let_in)


@router.post(PAIR, status_code=303, response_class=Response)
def let_in(request: Request, desk: AtDesk, code: SentCode = "") -> Response:
    """Let the phone in that sends the code."""
    if FROM_PHONE not in request.scope:
        raise NotLetInError(
            "This is the bench itself, not a phone.",
            hint="Open the address on the phone.",
        )
    secret = _opened(desk).let_in(code, address=address_of(request.scope))
    answer = go_to("/", "This phone is let in, until the bench is closed.")
    answer.set_cookie(COOKIE, secret, httponly=True, samesite="strict")
    return answer


def _opened(desk: AtDesk) -> Phone:
    if desk.phone is None:
        raise NotLetInError(
            "The bench is not open to a phone.",
            hint="Close it, and start it again with: laydown serve --phone",
        )
    return desk.phone


def _picture(address: str) -> str:
    """Draw an address as a QR code (ISO/IEC 18004) with the quiet zone the standard asks for."""
    code = segno.make_qr(address, error="m")
    return code.svg_inline(scale=SCALE, border=4, dark="#000", light="#fff", svgclass="code")
