"""The bench in a made-up language, which puts every text that it translates into brackets."""

import ast
import dataclasses
import importlib.util
import re
import shutil
from collections.abc import Callable, Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path
from types import ModuleType
from typing import Any

import jinja2
import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from jinja2 import nodes
from starlette.testclient import TestClient

from laydown.app.add_demo import add_demo
from laydown.app.color_in_words import ColorInWords
from laydown.app.complete_names import names_in
from laydown.app.opening import Library, open_named
from laydown.web import language, rendering
from laydown.web.language import language_of, tell

ROOT = Path(__file__).parents[2]
TEMPLATES = ROOT / "src" / "laydown" / "web" / "templates"
WEB = TEMPLATES.parent
SPEAK_ELSEWHERE = {"guard", "home_network", "phone_door", "running", "serving", "shortcuts"}
"""Modules that speak in a terminal, or to strangers before any page."""
MODULES = sorted(path for path in WEB.rglob("*.py") if path.stem not in SPEAK_ELSEWHERE)
MADE_UP = "qaa"
OPEN, CLOSE = "⟦", "⟧"
READ_ALOUD = {"alt", "title", "placeholder", "label", "aria-label", "aria-description"}
SAID_BY_SCRIPTS = re.compile(r"data-(?!surround$|grid$|pick$|plan$|line$).*")
"""Attributes in which templates hand texts to the modules; those named only name parts."""
NOT_TRANSLATED = re.compile(
    r"\b(laydown|pdf|html|csv|json|CIEDE2000|CIELAB|cgats|cxf|XYZ|Lab|lx|UTC)\b", re.IGNORECASE
)
"""Names of forms, formulas, units and commands."""
UNREAD = {"script", "style", "code"}
"""Elements with nothing in them for a reader, but for a command to be typed as it is."""
WORD = re.compile(r"[^\W\d_]{2,}")


@pytest.fixture(scope="module")
def tool() -> ModuleType:
    """Return the script that gathers texts."""
    spec = importlib.util.spec_from_file_location("tool", ROOT / "tools" / "extract_texts.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def texts(tool: ModuleType) -> Catalog:
    """Return all texts that the script finds."""
    found: Catalog = tool.texts()
    return found


def _forget() -> None:
    for kept in (language.languages, language.texts_in, rendering.environment):
        kept.cache_clear()


@pytest.fixture
def made_up(texts: Catalog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Give the bench a language whose every text stands in brackets."""
    catalog = Catalog()
    for text in texts:
        if text.id:
            catalog.add(text.id, _bracketed(text.id))
    folder = tmp_path / MADE_UP / "LC_MESSAGES"
    folder.mkdir(parents=True)
    with (folder / "laydown.mo").open("wb") as stream:
        write_mo(stream, catalog)
    monkeypatch.setattr(language, "CATALOGUES", tmp_path)
    _forget()
    yield MADE_UP
    monkeypatch.undo()
    _forget()


def _bracketed(text: str | tuple[str, ...]) -> str | tuple[str, ...]:
    if isinstance(text, str):
        return f"{OPEN}{text}{CLOSE}"
    return tuple(f"{OPEN}{one}{CLOSE}" for one in text)


class Seen(HTMLParser):
    """What of a page can be read, seen or heard, and stands in no bracket."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.plain: list[str] = []
        self._depth = 0
        self._hidden = False
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take what attributes say."""
        self._hidden = tag in UNREAD
        for name, said in attrs:
            is_file = name == "placeholder" and "\n" in (said or "")  # how a file's lines look
            if said and not is_file and (name in READ_ALOUD or SAID_BY_SCRIPTS.fullmatch(name)):
                self.take(said)

    def handle_endtag(self, tag: str) -> None:
        """Read on."""
        self._hidden = self._hidden and tag not in UNREAD

    def handle_data(self, data: str) -> None:
        """Take what stands in the page."""
        if not self._hidden:
            self.take(data)

    def take(self, said: str) -> None:
        """Keep what is outside of brackets."""
        outside = ""
        for sign in said:
            self._depth += (sign == OPEN) - (sign == CLOSE)
            outside += "" if self._depth or sign == CLOSE else sign
        if WORD.search(NOT_TRANSLATED.sub("", outside)):
            self.plain.append(outside.strip())


def _written(template: Path) -> str:
    """Return what a template writes by itself, with a star for everything that it fills in."""
    made = jinja2.Environment(extensions=["jinja2.ext.i18n"], autoescape=True)
    made.install_null_translations(newstyle=True)  # type: ignore[attr-defined]
    parsed = made.parse(template.read_text(encoding="utf-8"))
    printed = [one for output in parsed.find_all(nodes.Output) for one in output.nodes]
    return "".join("".join(_constants(one)) for one in printed)


def _constants(node: nodes.Node) -> Iterator[str]:
    if isinstance(node, nodes.TemplateData):
        yield node.data
    elif isinstance(node, nodes.Const):
        yield str(node.value)
    elif isinstance(node, (nodes.CondExpr, nodes.Or, nodes.And, nodes.Concat, nodes.Add)):
        for name, part in node.iter_fields():
            for one in part if isinstance(part, list) else [part]:
                if isinstance(one, nodes.Node) and name != "test":
                    yield from _constants(one)
    else:
        yield "*"


@pytest.mark.parametrize("path", sorted(TEMPLATES.rglob("*.j2")), ids=lambda path: path.name)
def test_no_template_writes_words_that_are_not_translated(path: Path) -> None:
    """Every word in a template, in texts as in attributes, is marked for translation."""
    assert Seen(_written(path)).plain == []


def _unsaid(path: Path) -> list[str]:
    """Return the sentences of errors and notices in a module that go past `tell`."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    calls = [one for one in ast.walk(tree) if isinstance(one, ast.Call)]
    errors = [call for call in calls if getattr(call.func, "id", "").endswith("Error")]
    said = [argument for call in errors for argument in call.args] + [
        one.value for call in calls for one in call.keywords if one.arg in {"hint", "says", "title"}
    ]
    return [
        text for one in said for text in _texts(one) if WORD.search(NOT_TRANSLATED.sub("", text))
    ]


def _texts(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Call) and getattr(node.func, "id", "") in {"tell", "tell_count"}:
        return
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    for part in ast.iter_child_nodes(node):
        yield from _texts(part)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_no_page_says_a_sentence_that_is_not_translated(path: Path) -> None:
    """Errors, notices and titles that a page makes itself go through `tell`."""
    assert _unsaid(path) == []


def _given(value: object, *, by_task: bool = True) -> Iterator[str]:
    """Return the texts in a result that a task gave; those that the bench made are passed over."""
    if isinstance(value, str):
        yield from [value] if by_task else []
    elif dataclasses.is_dataclass(value):
        ours = type(value).__module__.startswith("laydown.web")
        for one in dataclasses.fields(value):
            yield from _given(getattr(value, one.name), by_task=not ours)
    elif isinstance(value, Mapping):
        yield from _given([*value.keys(), *value.values()], by_task=by_task)
    elif isinstance(value, (list, tuple, set, frozenset)):
        for part in value:
            yield from _given(part, by_task=by_task)


SAID_BY_THE_BENCH = {"notice", "message", "hint"}
KINDS = ("kit", "range", "paper", "colorant")
Look = Callable[[str, str], list[str]]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Put the demo into a library, once."""
    path = tmp_path_factory.mktemp("demo") / "library.db"
    library = open_named(str(path))
    add_demo(library)
    library.close()
    return path


@pytest.fixture
def location(demo: Path, tmp_path: Path) -> str:
    """Return where a copy of that library is."""
    return str(shutil.copy(demo, tmp_path / "library.db"))


@pytest.fixture
def look(
    visit: TestClient, library: Library, made_up: str, monkeypatch: pytest.MonkeyPatch
) -> Look:
    """Give a look at pages of the demo's library: what of them is neither translated nor given."""
    names = {name for kind in KINDS for name in names_in(library, kind).names}
    filled: list[Mapping[str, Any]] = []
    render = jinja2.Template.render

    def recorded(template: jinja2.Template, *words: Any, **context: Any) -> str:
        filled.append(context)
        return render(template, *words, **context)

    monkeypatch.setattr(jinja2.Template, "render", recorded)
    _bracket_words_of_tasks(rendering.environment(made_up))

    def left(method: str, path: str, **fields: str) -> list[str]:
        visit.headers["accept-language"] = f"{made_up};q=0.9"
        filled.clear()
        page = visit.request(method, path, data=fields or None)
        if page.status_code == 303:
            page = visit.get(page.headers["location"])
        if "html" not in page.headers["content-type"]:
            return []
        assert "<html" not in page.text or f'<html lang="{made_up}"' in page.text
        given = {
            text
            for context in filled
            for name, part in context.items()
            if name not in SAID_BY_THE_BENCH
            for text in _given(part)
        }
        return [text for text in Seen(page.text).plain if _without(text, given | names)]

    return left


def _bracket_words_of_tasks(environment: jinja2.Environment) -> None:
    for name, function in environment.globals.items():
        module = getattr(function, "__module__", "") or ""
        if callable(function) and module.startswith("laydown.") and ".web." not in module:
            environment.globals[name] = _bracketing(function)


def _bracketing(function: Callable[..., Any]) -> Callable[..., Any]:
    def bracketed(*values: Any, **named: Any) -> Any:
        said = function(*values, **named)
        if isinstance(said, ColorInWords):
            return dataclasses.replace(said, words=_bracketed(said.words))
        return _bracketed(said) if isinstance(said, str) and said else said

    return bracketed


def _without(text: str, given: set[str]) -> bool:
    """Return whether words are left of a text without what was given."""
    for part in sorted(given, key=len, reverse=True):
        text = text.replace(part, "") if part else text
    return bool(WORD.search(NOT_TRANSLATED.sub("", text)))


ADDRESSES = [
    "/kit?name=demo+student",
    "/paper?name=Heron+laid",
    "/paper/anchors?range=Orchard&known_on=Gannet+smooth",
    "/range?name=Orchard&paper=Heron+laid",
    "/swatches?range=Orchard&paper=Heron+laid&most=5",
    "/color?wanted=lab:71,8,46&range=Orchard&paper=Gannet+smooth&steps=1",
    "/color?wanted=lab:71,8,46&steps=9",
    "/nowhere",
]


def test_every_page_comes_through_the_catalogue(look: Look, visit: TestClient) -> None:
    """In another language no page says anything in English but what a task gave it."""
    described = visit.get("/openapi.json").json()["paths"]
    asked = [
        path
        for path, ways in described.items()
        if "get" in ways and not path.endswith(".json") and not _required(ways["get"])
    ]
    assert {"/", "/kits", "/charts", "/jobs", "/phone"} <= set(asked)
    pages = [path for path in asked if visit.get(path).status_code == 200]
    left = {path: look("GET", path) for path in (*pages, *ADDRESSES)}
    assert {path: texts for path, texts in left.items() if texts} == {}


def _required(way: Mapping[str, Any]) -> bool:
    return any(one.get("required") for one in way.get("parameters", ()))


@pytest.mark.parametrize(
    ("path", "fields"),
    [
        ("/kits", {"name": "mine"}),
        ("/kit/own", {"kit": "demo student", "tick": "Estuary/Lantern"}),
        ("/kit/remove", {"kit": "demo student"}),
        ("/papers", {"name": "Old card"}),
        ("/paper/edit", {"name": "Heron laid", "coats_limit": "4"}),
        ("/sheets", {"kind": "first", "range": "Orchard", "paper": "Gannet smooth"}),
        ("/demo/remove", {}),
        ("/history/undo", {}),
        ("/kits", {}),
        ("/pair", {}),
        ("/charts", {"range": "Orchard"}),
    ],
)
def test_every_answer_to_a_form_comes_through_the_catalogue(
    look: Look, path: str, fields: dict[str, str]
) -> None:
    """What a page says of a change that was made, or wasn't, is translated too."""
    assert look("POST", path, **fields) == []


def test_a_text_that_nobody_marked_is_noticed() -> None:
    """A word outside of brackets is found, in a text as in an attribute."""
    page = f'<p>{OPEN}Kits{CLOSE} of mine <img alt="a bowl"></p>'
    assert Seen(page).plain == ["of mine", "a bowl"]


def test_the_first_language_that_there_is_is_spoken(made_up: str) -> None:
    """A browser's list is gone through in its order; a region falls back on its language."""
    assert language_of(f"tlh, {made_up};q=0.8, en;q=0.7") == made_up
    assert language_of(f"en, {made_up};q=0.8") == "en"
    assert language_of(f"{made_up.upper()}-AQ") == made_up
    assert language_of("tlh") == "en"


def test_english_is_spoken_where_nobody_was_asked() -> None:
    """Outside of a request a text is what stands in the code, with its places filled."""
    assert tell("The kit %(name)s is there.", name="mine") == "The kit mine is there."


def test_a_translation_survives_new_texts(
    tool: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A language begun by the script keeps what was translated when it is brought up to date."""
    monkeypatch.setattr(tool, "TRANSLATIONS", tmp_path)
    path = tool.renew("de")
    begun = path.read_text(encoding="utf-8")
    done = begun.replace('msgid "Kits"\nmsgstr ""', 'msgid "Kits"\nmsgstr "Bestand"')
    assert done != begun
    path.write_text(done, encoding="utf-8")
    with tool.renew("de").open("rb") as stream:
        assert read_po(stream)["Kits"].string == "Bestand"
    monkeypatch.setattr(language, "CATALOGUES", tmp_path)
    _forget()
    try:
        assert language.texts_in("de").gettext("Kits") == "Bestand"
    finally:
        monkeypatch.undo()
        _forget()


def test_a_place_is_filled_by_the_same_names_everywhere(texts: Catalog) -> None:
    """No text has a sign of formatting that filling it in would stumble over."""
    for text in texts:
        for one in [text.id] if isinstance(text.id, str) else text.id:
            names = re.findall(r"%\((\w+)\)", one)
            assert one % dict.fromkeys(names, 0) is not None
