"""The bench's description of itself (OpenAPI), and whatever may be asked by it."""

import json
from collections.abc import Callable, Iterator
from itertools import groupby
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import Case
from starlette.testclient import TestClient

from laydown.app import jobs
from laydown.errors import LaydownError
from laydown.store.records import Job

pytestmark = pytest.mark.long

Over = Callable[[int], Job]

HERE = "http://127.0.0.1:8017"
EXAMPLES = 3
"""Of each address; for more, raise it here: what is found doesn't change from run to run."""
KNOWN: dict[str, object] = {
    "kit": "mine",
    "range": "Shoal",
    "paper": "Gannet smooth",
    "wanted": "Kelp",
    "tick": "Shoal/Kelp",
    "job": 1,
}
"""What is there to be named; half of all cases name it, or the rest would end at the name."""
READS = {"/", "/kits", "/color", "/chart", "/charts", "/swatches", "/sheet", "/job/result.json"}


@pytest.fixture
def asked(shoal: TestClient, over: Over, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """Give the small range with a chart, a kit and a sheet, at a bench whose jobs do nothing."""
    shoal.post("/charts", data={"range": "Shoal", "pasted": "Kelp\nlab:60,-10,20"})
    over(1)
    shoal.post("/kits", data={"name": "mine"})
    sheet = {"kind": "first", "range": "Shoal", "paper": "Gannet smooth"}
    number = shoal.post("/sheets.json", data=sheet).json()["number"]
    monkeypatch.setitem(KNOWN, "sheet", number)
    monkeypatch.setitem(KNOWN, "number", number)
    monkeypatch.setattr(jobs, "do_with", _nothing)
    return shoal


def test_whatever_may_be_sent_is_bounded(visit: TestClient) -> None:
    """Every number has a least and a most, every text and every list a greatest length."""
    description = visit.get("/openapi.json").json()
    ways = [way for ways in description["paths"].values() for way in ways.values()]
    schemas = {
        f"{way['operationId']} {one['name']}": one["schema"]
        for way in ways
        for one in way.get("parameters", ())
        if one["in"] != "cookie"  # read as far as anybody wrote it, the rest is passed over
    } | {
        name: schema for name, schema in description["components"]["schemas"].items() if _sent(name)
    }
    assert {name: open_ for name, one in schemas.items() if (open_ := list(_open(one)))} == {}


BOUNDED_BY = {
    "string": {"maxLength", "enum", "const", "pattern", "contentMediaType"},
    "array": {"maxItems"},
}
FILES = {"type": "string", "contentMediaType": "application/octet-stream"}


def _sent(name: str) -> bool:
    """Return whether a schema is of what is sent, not of an error that is answered."""
    return name not in {"HTTPValidationError", "ValidationError"}


def _open(schema: dict[str, Any]) -> Iterator[str]:
    """Name what of a schema has no bounds; a file's are those of all that is sent."""
    kind = schema.get("type")
    if schema.get("items") == FILES:
        return
    if kind in {"integer", "number"}:
        low, high = ({name, f"exclusive{name.title()}"} for name in ("minimum", "maximum"))
        if not (low & schema.keys() and high & schema.keys()):
            yield kind
    elif kind in BOUNDED_BY and not BOUNDED_BY[kind] & schema.keys():
        yield kind
    for part in [*schema.get("properties", {}).values(), *schema.get("anyOf", ())]:
        yield from _open(part)
    if "items" in schema:
        yield from _open(schema["items"])


def _nothing(*_: object, **__: object) -> object:
    raise LaydownError("Nothing is done here.")


def test_nothing_that_is_asked_is_a_fault_of_the_bench(asked: TestClient) -> None:
    """Whatever an address or a form is given, the answer is a page, a sentence or a way on."""
    answered: set[str] = set()
    description = asked.get("/openapi.json").json()
    found = schemathesis.openapi.from_dict(description).get_all_operations()
    operations = (one.ok() for one in found)
    for _, faces in groupby(operations, lambda operation: _takes(description, operation)):
        _ask(asked, list(faces), answered)
    assert answered >= READS, READS - answered


def _takes(description: dict[str, Any], operation: Any) -> str:
    """Write what an address takes, as a text that all have which take the same."""
    way = description["paths"][operation.path][operation.method]
    body = json.dumps(way.get("requestBody"))
    for name, schema in description["components"]["schemas"].items():
        told = {key: value for key, value in schema.items() if key != "title"}
        body = body.replace(f'"#/components/schemas/{name}"', json.dumps(told))
    named = operation.path if "{" in operation.path else ""
    return f"{operation.method} {named} {json.dumps(way.get('parameters'))} {body}"


def _ask(asked: TestClient, faces: list[Any], answered: set[str]) -> None:
    """Ask many times at a page and its JSON, which take the same; note where one or both came.

    From the same seed the same would be drawn for each, and to draw it takes longer than to ask.
    """
    is_of_a_job = faces[0].path.startswith("/job")
    known = KNOWN | {"number": KNOWN["job"]} if is_of_a_job else KNOWN

    @settings(
        max_examples=EXAMPLES,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=faces[0].as_strategy(), as_drawn=st.booleans())
    def ask(case: Case, *, as_drawn: bool) -> None:
        if not as_drawn:  # so the first case, the simplest, names what is there
            _name(case.query, known)
            _name(case.body, known)
        for operation in faces:
            sent = _request(case) | ({"url": HERE + operation.path} if len(faces) > 1 else {})
            answer = asked.request(**sent)
            assert answer.status_code < 500, (operation.path, case.as_curl_command())
            if answer.status_code < 400:
                answered.add(operation.path)

    ask()


def _name(fields: object, known: dict[str, object]) -> None:
    """Have a case name what is there."""
    if isinstance(fields, dict):
        for name, value in known.items():
            if name in fields:
                fields[name] = [value] if isinstance(fields[name], list) else value


def _request(case: Case) -> dict[str, Any]:
    """Return a case as the browser's stand-in takes it."""
    sent = case.as_transport_kwargs(base_url=HERE)
    cookies = "; ".join(f"{name}={value}" for name, value in (sent.pop("cookies") or {}).items())
    sent["headers"] = {"cookie": cookies.encode()} if cookies else {}
    if isinstance(sent.get("data"), (bytes, str)):
        sent["content"] = sent.pop("data")
    return sent
