"""Change how colors are looked at: the surround, and values only."""

from typing import Annotated

from fastapi import APIRouter, Form, Request, Response

from laydown.web.faces import go_to
from laydown.web.look import COOKIE, Look, Surround

router = APIRouter()
YEAR = 365 * 24 * 3600


@router.post("/look", status_code=303, response_class=Response)
def change_look(
    request: Request,
    surround: Annotated[Surround, Form()] = Surround.LIGHT,
    values_only: Annotated[bool, Form()] = False,
    here: Annotated[str, Form(max_length=4000)] = "/",
) -> Response:
    """Keep the look in a cookie, and lead back to the page that it was changed on."""
    own = here.startswith("/") and not here.startswith(("//", "/\\"))
    response = go_to(here if own else "/")
    response.set_cookie(
        COOKIE,
        Look(surround, values_only).text(),
        max_age=YEAR,
        httponly=True,
        samesite="strict",
    )
    return response
