"""Each address has two faces: a page, and the same address plus ``.json``.

A *question* is a function from what an address and its query say to a task's frozen result. `shows`
gives it both faces: rendered for people, encoded for programs. A *change* is the same for what a
form sends: people are led to the page that shows what came of it, programs get the result. The
JSON is byte for byte what the command line writes with ``--json``.
"""

import inspect
from collections.abc import Awaitable, Callable
from inspect import Parameter
from typing import Annotated, Any, TypeAlias, TypeVar
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from laydown.app.encoding import named, to_json
from laydown.app.library import Library
from laydown.web.desk import AtLibrary
from laydown.web.rendering import render

Function = TypeVar("Function", bound=Callable[..., Any])
Told: TypeAlias = str | Callable[[Any], str]
"""A text that has ``{0}`` where a result, or a part of it, stands; or what makes it of that."""
Beside: TypeAlias = dict[str, Any]
"""What a page shows besides an answer, by the names that its template knows it by."""
NOTICE = "notice"
NOTICE_SECONDS = 30


def text_of(told: Told, result: object) -> str:
    """Return what is told of a result."""
    return told.format(result) if isinstance(told, str) else told(result)


def json_of(result: object, *, under: str = "") -> Response:
    """Answer with a result as JSON, as the command line writes it.

    `under`: names there of what has no fields of its own, see `laydown.app.encoding.to_json`.
    """
    return Response(f"{to_json(result, under=under)}\n", media_type="application/json")


def json_address(path: str) -> str:
    """Return the address of a page's other face.

    >>> json_address("/kits"), json_address("/")
    ('/kits.json', '/index.json')
    """
    return "/index.json" if path == "/" else f"{path}.json"


def of_library(task: Callable[..., Any], **said: Any) -> Callable[..., Any]:
    """Return the question that a task answers from the library, and from what is said besides.

    What is said goes by the names of the task's arguments, and has the type by which FastAPI reads
    it from an address or a form; where it isn't, the task's own default counts.
    """
    usual = {"library": AtLibrary} | said
    parameters = inspect.signature(task).parameters

    def question(library: Library, **told: Any) -> Any:
        return task(library, **told)

    question.__name__, question.__doc__ = task.__name__, task.__doc__
    question.__signature__ = inspect.Signature(  # type: ignore[attr-defined]  # FastAPI asks for it
        [
            Parameter(
                name, Parameter.KEYWORD_ONLY, default=parameters[name].default, annotation=kind
            )
            for name, kind in usual.items()
        ]
    )
    return question


async def nothing() -> None:
    """Show nothing besides an answer."""


def shows(
    router: APIRouter,
    path: str,
    template: str,
    *,
    beside: Callable[..., Any] = nothing,
    under: str = "",
) -> Callable[[Function], Function]:
    """Give a question a page and its JSON.

    `template`: what renders the result, which it knows as ``answer``. `beside`: a second question
    for the page alone, such as the names to choose from; the template knows its result as
    ``beside``. `under`: the names that a result without fields of its own has in the JSON; where
    there are several, the template knows it by them, too.
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
    router: APIRouter, path: str, leads_to: Told, says: Told = "", *, under: str = ""
) -> Callable[[Function], Function]:
    """Give a change a form's address and its JSON.

    A person is led to a page that begins with a sentence, if there is one; both may follow from the
    result. ``under`` is as for `shows`.
    """

    def register(change: Function) -> Function:
        async def form(result: Annotated[Any, Depends(change)]) -> Response:
            return go_to(*(text_of(told, result) for told in (leads_to, says)))

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
    page: Callable[..., Response | Awaitable[Response]],
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
