"""Each address has two faces: a page, and the same address plus ``.json``.

A *question* is a function from what an address and its query say to a task's frozen result. `shows`
gives it both faces: rendered for people, encoded for programs. A *change* is the same for what a
form sends: people are led to the page that shows what came of it, programs get the result. The
JSON is byte for byte what the command line writes with ``--json``.
"""

from collections.abc import Callable
from typing import Annotated, Any, TypeAlias, TypeVar
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from laydown.app.encoding import named, to_json
from laydown.web.rendering import render

Function = TypeVar("Function", bound=Callable[..., Any])
Beside: TypeAlias = dict[str, Any]
"""What a page shows besides an answer, by the names that its template knows it by."""
NOTICE = "notice"
NOTICE_SECONDS = 30


def json_of(result: object, *, under: str = "") -> Response:
    """Answer with a result as JSON, as the command line writes it.

    `under`: names there of what has no fields of its own, see `laydown.app.encoding.to_json`.
    """
    return Response(f"{to_json(result, under=under)}\n", media_type="application/json")


def json_address(path: str) -> str:
    """Return the address of a page's other face.

    Examples
    --------
    >>> json_address("/kits"), json_address("/")
    ('/kits.json', '/index.json')
    """
    return "/index.json" if path == "/" else f"{path}.json"


def _nothing() -> None:
    """Ask nothing besides."""


def shows(
    router: APIRouter,
    path: str,
    template: str,
    *,
    beside: Callable[..., Any] = _nothing,
    under: str = "",
) -> Callable[[Function], Function]:
    """Give a question a page and its JSON.

    Parameters
    ----------
    template
        What renders the result, which it knows as ``answer``.
    beside
        A second question for the page alone, such as the names to choose from; the template knows
        its result as ``beside``.
    under
        The names that a result without fields of its own has in the JSON; where there are several,
        the template knows it by them, too.
    """
    several = " " in under

    def register(question: Function) -> Function:
        def page(
            request: Request,
            answer: Annotated[Any, Depends(question)],
            choices: Annotated[Any, Depends(beside)],
        ) -> Response:
            shown = named(answer, under) if several else answer
            return render(request, template, answer=shown, beside=choices)

        enter(router, "GET", path, question, page=page, under=under)
        return question

    return register


def changes(
    router: APIRouter,
    path: str,
    *,
    leads_to: Callable[[Any], str],
    says: Callable[[Any], str],
    under: str = "",
) -> Callable[[Function], Function]:
    """Give a change a form's address and its JSON.

    From its result follow the page that a person sees next, and the sentence that this begins with;
    ``under`` is as for `shows`.
    """

    def register(change: Function) -> Function:
        def form(result: Annotated[Any, Depends(change)]) -> Response:
            return go_to(leads_to(result), says(result))

        enter(router, "POST", path, change, page=form, under=under)
        return change

    return register


def go_to(path: str, notice: str = "") -> Response:
    """Lead a browser to another page, which begins with the notice."""
    response = RedirectResponse(quote(path, safe="/?=&%+:#,;*"), status_code=303)
    if notice:
        response.set_cookie(
            NOTICE, quote(notice), max_age=NOTICE_SECONDS, httponly=True, samesite="strict"
        )
    return response


def enter(
    router: APIRouter,
    method: str,
    path: str,
    function: Callable[..., Any],
    *,
    page: Callable[..., Response],
    data: Callable[..., Response] | None = None,
    under: str = "",
) -> None:
    """Enter both faces, what a function returns as JSON, unless there is a face of its own for it.

    The JSON comes first, so that no page's address swallows it.
    """

    def as_data(result: Annotated[Any, Depends(function)]) -> Response:
        return json_of(result, under=under)

    data = data or as_data
    told = (function.__doc__ or function.__name__).strip().splitlines()[0]
    for address, face in ((json_address(path), data), (path, page)):
        router.add_api_route(
            address,
            face,
            methods=[method],
            summary=told,
            name=f"{function.__name__} {'data' if face is data else 'page'}",
            response_class=Response,
        )
