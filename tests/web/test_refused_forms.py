"""Every form of the bench, driven wrong once: it is there again, as it was filled, and the cure."""

import html
import io
import re
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from laydown.app.pictures.plans import PictureFile, planned, write_plan
from laydown.color.lab import xyz_from_lab
from laydown.plan.picture.picture import PlanRules
from laydown.sheet.reading import CellReading
from laydown.web.desk import Desk, open_desk
from laydown.web.serving import create_application, names_of

TEMPLATES = Path(__file__).parents[2] / "src" / "laydown" / "web" / "templates"
PAPER = "Gannet smooth"
LONG = "x" * 300
"""Longer than a name may be."""
LONGER = "x" * 1001
"""Longer than a recipe may be."""
EMPTY = ("empty.txt", b"")

NOTHING_TO_TYPE = {
    "/demo": "a button",
    "/demo/remove": "a button",
    "/demo/run": "a button",
    "/finished/remove": "a button and a tick",
    "/history/redo": "a button",
    "/history/undo": "a button",
    "/job/again": "a button",
    "/job/cancel": "a button",
    "/job/remove": "a button",
    "/kit/remove": "a button",
    "/lesson/from-demo": "a button",
    "/lesson/from-family": "buttons, one a family",
    "/kit/mark": "buttons, one a patch",
    "/lesson/remove": "a button",
    "/light/forget": "a button",
    "/look": "what it can't read is the usual look",
    "/pictures/demo": "a button",
    "/phone/code": "a button",
    "/phone/forget": "a button",
    "/picture/back": "a button",
    "/picture/keep": "a button",
    "/picture/remove": "a button",
    "/picture/steps": "a button",
    "/range/mark": "a choice of what there is",
    "/range/remove": "a button",
    "/sheet/remove": "a button",
    "/sheet/settle": "ticks, as those of a card",
    "/stop": "a button",
    "/trial/undo": "a button",
    "/trial/why": "a button",
    "/pair": "on a phone; see test_phone_pages",
}
"""Forms that nobody can fill in wrong, and why."""


@dataclass(frozen=True)
class Wrong:
    """A form, and what is wrong in it.

    Parameters
    ----------
    page
        On which it stands.
    action
        Where it is sent.
    typed
        What is typed, which has to be there again.
    told
        A part of the sentence.
    sent
        What no field of it lets one choose: a tick, a button, or what is not on offer.
    files
        Files chosen, by their field.
    """

    page: str
    action: str
    typed: Mapping[str, str]
    told: str
    sent: Mapping[str, str | list[str]] = field(default_factory=dict)
    files: Mapping[str, tuple[str, bytes]] = field(default_factory=dict)

    def __str__(self) -> str:
        return f"{self.action} on {self.page}".replace(" ", "_")


BEGUN = {"names": "Fig\nPlum", "medium": "pencil", "paper": "Tern rough", "kit": "Shoal"}
LIGHT = {"pasted": "Kelp", "without": LONG}
LAMP = {"lux": "150", "hours": "25", "days": "200", "glass": "plain"}
TRIAL = {"recipe": "Kelp", "color": "green as grass", "remark": "wet\nand warm", "kit": "mine"}
FORMS = (
    Wrong("/", "/begin", BEGUN, "“Shoal” is a set of markers already."),
    Wrong("/kits", "/kits", {"name": "Mine"}, "mine"),
    Wrong("/kit?name=mine", "/kit", {"typed": LONG}, "Shorten “Part of a name"),
    Wrong("/kit?name=mine", "/kit/own", {"pasted": LONG * 400}, "Shorten “A list"),
    Wrong("/kit?name=mine", "/kit/disown", {}, "“Kelp2”", {"tick": "Kelp2"}),
    Wrong(
        "/kit/own?kit=mine&pasted=Fig",
        "/kit/own",
        {"tick": "Fig", "new_range": "Shoal", "medium": "pencil"},
        "“Shoal” is a set of markers already.",
    ),
    Wrong("/papers", "/papers", {"name": PAPER.lower()}, PAPER),
    Wrong(f"/paper?name={PAPER}", "/paper/edit", {"coats_limit": "100"}, "most 99"),
    Wrong(f"/paper?name={PAPER}", "/paper/remove", {}, "carries 16 swatches"),
    Wrong(
        "/swatches",
        "/swatches/import",
        {"range": "Tide", "medium": "wash"},
        "rows.csv",
        files={"files": ("rows.csv", b"hardly,a\ntable,1\n")},
    ),
    Wrong("/swatches", "/swatches", {"color": "Kelpp", "range": "Shoal"}, "Did you mean"),
    Wrong("/swatches", "/swatches/remove", {}, "9999", {"number": "9999"}),
    Wrong(
        "/sheets",
        "/sheets",
        {"kind": "list", "from": "range:Shoal", "paper": "Tern rough", "recipes": "Kelp; Dunne"},
        "Did you mean",
    ),
    Wrong("/range?name=Shoal&paper=Gannet smooth", "/sheets", {}, "kind", {"kind": "odd"}),
    Wrong(
        "/paper/anchors?name=Gannet smooth&range=Shoal",
        "/sheets",
        {"paper": LONG},
        "Shorten “The new paper”",
    ),
    Wrong("/sheet?number={sheet}", "/sheet/read", {"stage": "soggy"}, "picture"),
    Wrong("/card", "/card", {"rows": "41", "columns": "2", "names": "Kelp\npaper"}, "“Rows”"),
    Wrong("/card/reading?job={card}", "/card/settle", {}, "least 1", {"accept": "0"}),
    Wrong("/history", "/history/restore", {}, "There is nothing in", files={"file": EMPTY}),
    Wrong("/color", "/color", {"wanted": "lab:1", "from": "range:Shoal", "steps": "2"}, "lab:1"),
    Wrong("/color", "/color", {"wanted": "Kelpp", "from": "kit:mine", "top": "10"}, "Did you mean"),
    Wrong("/partners", "/partners", {"color": "Kelpp", "from": "range:Shoal"}, "Did you mean"),
    Wrong(
        "/gradient",
        "/gradient",
        {"first": "Kelpp", "second": "Dune", "from": "range:Shoal"},
        "Did you mean",
    ),
    Wrong(
        "/partners",
        "/partners",
        {"color": "Kelp", "from": "range:Shoal"},
        "“Leave",
        {"without": LONG},
    ),
    Wrong("/charts", "/charts", {"title": "Tide"}, "color"),
    Wrong("/chart?job={chart}", "/chart", {}, "“Order”", {"order": "odd"}),
    Wrong("/lessons", "/lessons", {"pasted": "laydown lesson 9"}, "laydown lesson"),
    Wrong("/lessons", "/lesson/from-list", {"title": "Tide", "color": "Kelpp"}, "Did you mean"),
    Wrong("/lesson?number=1", "/lesson/convert", {"without": LONG}, "“Leave"),
    Wrong("/lesson?number=1", "/lesson/pack", {"without": LONG}, "“Leave"),
    Wrong("/lesson?number=1", "/lesson/page", {}, "Shorten", {"paper": LONG}),
    Wrong("/ranges", "/range/page", {}, "Shorten", {"paper": LONG}),
    Wrong("/find", "/find", {"q": LONG}, "Shorten “What for?”"),
    Wrong("/box?range=Reef", "/box", {}, "Shorten", {"paper": LONG}),
    Wrong("/grid?range=Reef", "/grid", {}, "Shorten", {"paper": LONG}),
    Wrong("/lay?range=Reef&recipe=Slate", "/lay", {}, "Shorten", {"paper": LONG}),
    Wrong("/twins?range=Reef", "/twins", {}, "Shorten", {"paper": LONG}),
    Wrong("/boxes", "/boxes", {"wanted": LONGER}, "Shorten “Wanted”"),
    Wrong("/fix", "/fix", {"over": "Kelpp", "wanted": "Kelp"}, "Did you mean"),
    Wrong("/lesson?number=1", "/lesson/gather", {}, "file"),
    Wrong(
        "/lesson/returns?job={returns}",
        "/lesson/returns",
        {},
        "Shorten “How everyone made”",
        {"color": LONG},
    ),
    Wrong(
        "/lesson/of-sheet?sheet={sheet}", "/lesson/from-sheet", {"title": LONG}, "Shorten “Title”"
    ),
    Wrong("/light", "/light/check", LIGHT | {"steps": "1"}, "Shorten “Leave out”"),
    Wrong("/light", "/light/check", {"from": "range:Shoal", "pasted": ""}, "Type one a line"),
    Wrong(
        "/light",
        "/light/check",
        {"pasted": "Kelp"},
        "Give at most 20 in “Under these lights”.",
        {"light": ["D50"] * 21},
    ),
    Wrong("/light/checked?job={light}", "/light/checked", {}, "“Show”", {"only": "odd"}),
    Wrong("/light/wall", "/light/wall", LAMP | {"laid": "Kelp*2", "years": "9"}, "most 24"),
    Wrong("/light/lasting?job={life}", "/light/rate", {"grade": "9"}, "9", {"tick": "Shoal/Kelp"}),
    Wrong("/light/classes", "/light/classes", {"kit": ""}, "Shoall", {"range": "Shoall"}),
    Wrong("/light/classes", "/light/rate", {"grade": "2", "pasted": "Kelpp"}, "Did you mean"),
    Wrong("/light/classes", "/light/import", {}, "nothing in", files={"file": EMPTY}),
    Wrong(
        "/light/window",
        "/light/window",
        {"colorant": "Kelp", "after": "lab:9", "lux": "500", "hours": "8", "days": "3"},
        "lab:9",
    ),
    Wrong("/light/window", "/light/window/sheet", {"remark": "south", "hours": "25"}, "most 24"),
    Wrong(
        "/runs",
        "/runs",
        {"from": "range:Reef", "coats": "2", "without": LONG},
        "Shorten “Leave out”",
    ),
    Wrong(
        "/runs/found?job={runs}", "/runs/found", {"using": LONG}, "Shorten “With this one in it”"
    ),
    Wrong(
        "/ranges",
        "/ranges/compare",
        {"first": "Reef", "second": "Reef"},
        "“How near counts",
        {"tolerance": "odd"},
    ),
    Wrong("/choosing", "/choosing", {"aim": "best", "colors": "Kelp", "most": "900"}, "“How many"),
    Wrong("/choosing", "/choosing", {"must": "Kelp", "seconds": "30"}, "type colors one a line"),
    Wrong("/notebook/new", "/notebook", TRIAL, "green as grass"),
    Wrong("/muddy", "/muddy", {k: TRIAL[k] for k in ("recipe", "color", "kit")}, "green as grass"),
    Wrong("/notebook/new", "/notebook/sheet", {"remark": "x"}, "picture"),
    Wrong("/notebook/new", "/notebook/measured", {"remark": "x"}, "“File”"),
    Wrong(
        "/notebook",
        "/notebook",
        {"kit": "", "paper": ""},
        "“Also those you undid”",
        {"all": "perhaps"},
    ),
    Wrong("/notebook", "/notebook/found", {"color": "Kelpp"}, "Did you mean"),
    Wrong("/notebook/found?words=wet", "/notebook/found", {"within": "101"}, "“How near is near”"),
    Wrong("/notebook", "/notebook/calibration", {"range": "Shoal"}, "not both"),
    Wrong("/notebook", "/notebook/import", {}, "notes.json", files={"file": ("notes.json", b"1")}),
    Wrong("/notebook/next", "/notebook/next", {"pasted": "Kelp", "most": "51"}, "“How many trials"),
    Wrong(
        "/notebook/suggested?job={next}",
        "/notebook/suggested/sheet",
        {},
        "“Page”",
        {"page": "A9"},
    ),
    Wrong("/trial?number=1", "/trial/edit", {"color": "green", "remark": "?"}, "green"),
    Wrong("/trial?number=1", "/trial/erase", {}, "the box was not ticked"),
    Wrong("/finished", "/finished", {"title": "Tide", "recipes": "Kelpp*2"}, "Did you mean"),
    Wrong("/hand", "/hand", {"recipes": "Kelp; Dune"}, "“Their swatches"),
    Wrong("/pictures", "/pictures", {"width": "10", "title": "Tide"}, "least 20"),
    Wrong("/pictures", "/pictures/open", {}, "odd.plan", files={"file": ("odd.plan", b"odd")}),
    Wrong(
        "/picture?number=1",
        "/picture/change",
        {"regions": "99", "at": "4"},
        "99",
        {"do": "split"},
    ),
    Wrong("/picture?number=1", "/picture/recipes", {"without": LONG}, "“Leave"),
    Wrong("/picture?number=1", "/picture/print", {}, "“Page”", {"page": "A9"}),
    Wrong("/picture?number=1", "/picture/lesson", {"title": LONG}, "Shorten"),
    Wrong("/picture/recipes?job={painted}", "/picture/print", {}, "“Page”", {"page": "A9"}),
)
"""One way at least for each form; a browser would stop some of them, a phone's might not."""


class Forms(HTMLParser):
    """Reads the forms of a page: method, address, and what stands in each field."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[tuple[str, str, dict[str, list[str]]]] = []
        self._select = self._into = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a form, or what a field of it holds."""
        told = {name: value or "" for name, value in attrs}
        name, value = told.get("name", ""), told.get("value", "")
        kind = told.get("type")
        typed = "checked" in told if kind in {"checkbox", "radio"} else kind != "file"
        if tag == "form":
            self.forms.append((told["method"], urlsplit(told["action"]).path, {}))
        elif tag == "select":
            self._select = name
        elif tag == "input" and name and typed:
            self._note(name, value)
        elif tag == "option" and "selected" in told:
            self._note(self._select, value)
        elif tag == "textarea":
            self._into = name
            self._note(name, "")

    def handle_endtag(self, tag: str) -> None:
        """Note that a text is over."""
        self._into = "" if tag == "textarea" else self._into

    def handle_data(self, data: str) -> None:
        """Note a text."""
        if self._into:
            self.forms[-1][2][self._into][-1] += data

    def _note(self, name: str, value: str) -> None:
        if self.forms:
            self.forms[-1][2].setdefault(name, []).append(value)


def alerts_of(page: str) -> list[str]:
    """Return what a page says in alarm."""
    found = re.findall(r'<div[^>]*role="alert"[^>]*>(.*?)</div>', page, re.DOTALL)
    return [" ".join(html.unescape(re.sub("<.*?>", " ", one)).split()) for one in found]


@pytest.fixture(scope="module")
def bench(
    tmp_path_factory: pytest.TempPathFactory, ranges: dict[str, bytes]
) -> Iterator[tuple[TestClient, dict[str, int]]]:
    """Give a bench that every page has something to show at, and the numbers of it all."""
    location = str(tmp_path_factory.mktemp("refused") / "library.db")
    with (
        open_desk(location, hosts=names_of(8017)) as desk,
        TestClient(
            create_application(desk),
            base_url="http://127.0.0.1:8017",
            follow_redirects=False,
            cookies=desk.keys.cookies(8017),
        ) as visit,
    ):
        for file in ranges.items():
            visit.post("/swatches/import", files={"files": file})
        yield visit, fill(visit, desk)


def fill(visit: TestClient, desk: Desk) -> dict[str, int]:
    """Make one of everything; return the numbers of what can be asked for by one."""
    visit.post("/kits", data={"name": "mine"})
    visit.post("/kit/own", data={"kit": "mine", "range": "Shoal"})
    made = {"kind": "list", "range": "Shoal", "paper": PAPER, "recipes": "Kelp\nDune"}
    sheet = int(visit.post("/sheets", data=made).headers["location"].rpartition("=")[2])
    with desk.library.work("read") as work:
        cells = [cell.number for cell in work.sheets.get(sheet).cells if not cell.bare]
        lab = xyz_from_lab(np.array([52.0, -22.0, 24.0]))
        read = [CellReading(number, lab, 0.4, frozenset()) for number in cells]
        told = {"stage": "dry", "conversion": "chart", "accepted": frozenset(cells)}
        work.sheets.add_readings(sheet, read, **told)
    lesson = "laydown lesson 1\ntitle: Tide\ncolor: glint\nxyz: 20.01 22.93 16.70\n"
    visit.post("/lessons", data={"pasted": lesson})
    visit.post("/notebook", data={"recipe": "Kelp", "color": "lab:50,-20,20", "kit": "mine"})
    visit.post("/pictures/open", files={"file": ("halves.plan", plan())})
    of = {"range": "Shoal", "paper": PAPER, "steps": "1", "coats": "1"}
    files = {"files": ("Ana.txt", lesson.encode())}
    card = {"rows": "1", "columns": "2", "names": "Kelp\npaper", "paper": "Old card"}
    corners = {"x": ["30", "370", "370", "30"], "y": ["40", "40", "200", "200"]}
    return {"sheet": sheet} | {
        name: job_of(visit, path, fields, sent)
        for name, path, fields, sent in (
            ("chart", "/charts", {**of, "pasted": "Kelp\nDune"}, None),
            ("light", "/light/check", {**of, "pasted": "Kelp\nDune"}, None),
            ("life", "/light/wall", {**of, "laid": "Kelp\nDune", "lux": "100"}, None),
            ("runs", "/runs", {"range": "Reef"}, None),
            ("returns", "/lesson/gather", {"number": "1"}, files),
            ("next", "/notebook/next", {"kit": "mine", "recipes": "Kelp*2"}, None),
            ("painted", "/picture/recipes", {**of, "number": "1"}, None),
            ("card", "/card", {**card, **corners}, {"file": ("card.png", picture())}),
        )
    }


def picture() -> bytes:
    """Return a picture of a light and a dark half, which may be a card as well."""
    pixels = np.full((240, 400, 3), 235, np.uint8)
    pixels[40:200, 30:190] = (60, 90, 110)
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    return content.getvalue()


def plan() -> bytes:
    """Return a plan of two regions."""
    rules = PlanRules(steps=2, width=120.0)
    return write_plan(planned(None, PictureFile(picture(), "halves.png", "", rules)))


def job_of(visit: TestClient, path: str, fields: object, files: object) -> int:
    """Send a form that starts a job, wait for it, and return its number."""
    started = visit.post(path, data=fields, files=files)  # type: ignore[arg-type]
    assert started.status_code == 303, started.text
    job = over(visit, int(started.headers["location"].rpartition("=")[2]))
    assert job["state"] == "done", job["message"]
    return int(job["id"])


def over(visit: TestClient, number: int) -> dict[str, Any]:
    """Wait for a job to be over, and return it."""
    for _ in range(3000):
        job = visit.get(f"/job.json?number={number}").json()
        if job["ended"]:
            break
        time.sleep(0.02)
    return dict(job)


def test_no_form_is_left_out() -> None:
    """Each form of each template is driven wrong, or it says why it can't be."""
    found = set()
    for template in TEMPLATES.rglob("*.j2"):
        told = template.read_text(encoding="utf-8")
        found |= set(re.findall(r'(?:<form[^>]*\baction=|\bpress\()"([^"{]+)"', told))
    assert found - {form.action for form in FORMS} == NOTHING_TO_TYPE.keys()


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_a_form_that_is_refused_is_there_again(
    bench: tuple[TestClient, dict[str, int]], form: Wrong
) -> None:
    """The page it stood on comes back with what was typed, and begins with the cure."""
    comes_back(*bench, form)


BELOW = [form for form in FORMS if form.page != "/" and form.action.startswith(f"{form.page}/")]
"""Forms that are sent to an address below that of their page."""


@pytest.mark.parametrize("form", BELOW, ids=str)
def test_a_form_is_found_again_where_a_browser_says_nothing_of_its_page(
    bench: tuple[TestClient, dict[str, int]], form: Wrong
) -> None:
    """Some send no Referer; then the form is looked for on the page above its address."""
    comes_back(*bench, form, told_of_page=False)


def comes_back(
    visit: TestClient, numbers: dict[str, int], form: Wrong, *, told_of_page: bool = True
) -> None:
    """Send a form as its page has it but for what is wrong, and look for it in the answer."""
    page = visit.get(form.page.format(**numbers))
    assert page.status_code == 200, page.text
    method, _, held = next(one for one in Forms(page.text).forms if one[1] == form.action)
    fields = {**held, **form.sent, **form.typed}
    headers = {"referer": str(page.url)} if told_of_page else {}
    if method == "get":
        answer = visit.get(form.action, params=fields, headers=headers)
    else:
        answer = visit.post(form.action, data=fields, files=form.files or None, headers=headers)
    assert 400 <= answer.status_code < 500, answer.text
    (alert,) = alerts_of(answer.text)
    assert form.told in alert
    assert not {f"“{name}”" for name in form.typed} & {*re.findall("“.*?”", alert)}
    again = [held for _, at, held in Forms(answer.text).forms if at == form.action]
    assert any(all(form.typed[name] in held.get(name, ()) for name in form.typed) for held in again)


AGAIN = (
    (
        "/light",
        "/light/check",
        {"from": "range:Reef", "steps": "1"},
        "file",
        b"color\nlab:300,0,0\n",
    ),
    (
        "/light/wall",
        "/light/wall",
        {"from": "range:Reef", "lux": "70"},
        "file",
        b"color\nlab:300,0,0\n",
    ),
    ("/sheet?number={sheet}", "/sheet/read", {"stage": "wet", "way": "paper"}, "files", b""),
)


@pytest.mark.parametrize(("page", "action", "typed", "name", "content"), AGAIN)
def test_a_job_that_failed_leads_back_to_its_form(
    bench: tuple[TestClient, dict[str, int]],
    page: str,
    action: str,
    typed: dict[str, str],
    name: str,
    content: bytes,
) -> None:
    """The form is there as it was filled, says why, and still has the file that was sent."""
    visit, numbers = bench
    at = visit.get(page.format(**numbers))
    held = next(held for _, path, held in Forms(at.text).forms if path == action)
    files = {name: ("odd.png", content or picture())}
    headers = {"referer": str(at.url)}
    sent = visit.post(action, data={**held, **typed}, files=files, headers=headers)
    job = over(visit, int(sent.headers["location"].rpartition("=")[2]))
    assert job["state"] == "failed"
    (way,) = re.findall(
        r'href="(/job/form\?number=\d+)"', visit.get(f"/job?number={job['id']}").text
    )
    again = visit.get(way)
    assert again.status_code == 200
    (alert,) = alerts_of(again.text)
    assert job["message"] in alert
    assert "still here" in alert
    held = next(held for _, path, held in Forms(again.text).forms if path == action)
    assert typed.items() <= {key: values[0] for key, values in held.items()}.items()
    once_more = visit.post(action, data=held, headers={"referer": str(again.url)})
    assert (
        over(visit, int(once_more.headers["location"].rpartition("=")[2]))["message"]
        == job["message"]
    )
