"""A real browser at a real bench: no request leaves this computer, pages are photographed."""

import os
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import Browser, Page, ViewportSize, expect, sync_playwright

from laydown.app.fits import fit_for
from laydown.app.jobs import Jobs
from laydown.app.library import open_named
from laydown.cli.main import door
from laydown.match.search.tables import warm_up
from laydown.web.connections import Bounds
from laydown.web.desk import open_desk
from laydown.web.guard import Keys
from laydown.web.running import opening_address
from laydown.web.serving import HERE, bind, create_application, names_of, server_of

CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SIZES: dict[str, ViewportSize] = {
    "desk": {"width": 1200, "height": 900},
    "phone": {"width": 360, "height": 740},
}
PATIENCE = 120_000
"""How long a busy machine may let a page wait, or work that it waits for [ms]."""
ARTEFACTS = Path(__file__).parent.parent.parent / "test-artefacts" / "browser"
DEMO = Path(__file__).parent.parent.parent / "src" / "laydown" / "demo" / "data"


@dataclass(slots=True)
class Bench:
    """An open bench: its address, and the library behind it."""

    address: str
    location: str
    jobs: Jobs
    keys: Keys

    def do(self, *command: str) -> None:
        """Run a command of the other door on the same library."""
        do(self.location, *command)


def do(library: str | Path, *command: str) -> None:
    """Run a command of the other door on a library."""
    done = CliRunner().invoke(door, [*command, "--db", str(library), "-q"])
    assert done.exit_code == 0, done.output


@dataclass(slots=True)
class Visit:
    """A browser's window at the bench."""

    page: Page
    bench: Bench
    size: str
    asked: list[str] = field(default_factory=list)
    told: list[str] = field(default_factory=list)

    def go(self, path: str) -> Page:
        """Open a page of the bench."""
        self.page.goto(self.bench.address + path)
        return self.page

    def photograph(self, name: str) -> None:
        """Keep a picture of the whole page, for people to look at."""
        ARTEFACTS.mkdir(parents=True, exist_ok=True)
        self.page.screenshot(path=ARTEFACTS / f"{name}-{self.size}.png", full_page=True)

    def check(self) -> None:
        """Hold the page to what every page is held to: axe, its width, no foreign request."""
        found = Axe().run(self.page).response["violations"]
        grave = [f"{v['id']}: {v['nodes'][0]['html'][:200]}" for v in found if _is_grave(v)]
        assert not grave, grave
        wide = self.page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 0, f"the page is {wide} pixels too wide"


def _is_grave(violation: dict[str, str]) -> bool:
    return violation["impact"] in {"serious", "critical"}


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Give Debian's Chromium; where it is missing the test is skipped, except in CI."""
    if not CHROMIUM.exists():
        reason = "chromium is not here; see README, Tests"
        pytest.fail(reason) if os.environ.get("CI") else pytest.skip(reason)
    with sync_playwright() as playwright:
        expect.set_options(timeout=PATIENCE)
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def orchard_library(
    tmp_path_factory: pytest.TempPathFactory, lay_library: Callable[[Path], Path]
) -> Path:
    """Take the invented range Orchard into a library with its fit, for all tests to copy."""
    library = lay_library(tmp_path_factory.mktemp("orchard") / "library.db")
    do(library, "swatches", "import", str(DEMO / "orchard_on_gannet_smooth.csv"))
    with closing(open_named(str(library))) as opened:
        fit_for(opened, ["Orchard"], "Gannet smooth")
    return library


@pytest.fixture(scope="session")
def demo_library(
    tmp_path_factory: pytest.TempPathFactory, lay_library: Callable[[Path], Path]
) -> Path:
    """Put the demo into a library, for all tests to copy."""
    library = lay_library(tmp_path_factory.mktemp("demo") / "library.db")
    do(library, "library", "add-demo")
    return library


@pytest.fixture
def location(
    request: pytest.FixtureRequest, tmp_path: Path, lay_library: Callable[[Path], Path]
) -> str:
    """Return where the library of this test is: empty, but where Orchard or the demo is asked."""
    path = tmp_path / "library.db"
    for name in ("orchard", "demo"):
        if name in request.fixturenames:
            return str(shutil.copyfile(request.getfixturevalue(f"{name}_library"), path))
    return str(lay_library(path))


@pytest.fixture
def bench(location: str) -> Iterator[Bench]:
    """Open a bench on that library."""
    warm_up()
    listener = bind(0)
    port = listener.getsockname()[1]
    with open_desk(location, hosts=names_of(port)) as desk:
        application = create_application(desk)
        server = server_of(application, desk, Bounds())
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        until(lambda: server.started)
        yield Bench(f"http://{HERE}:{port}", location, desk.jobs, desk.keys)
        server.should_exit = True
        thread.join(10)
    listener.close()


@pytest.fixture(params=list(SIZES))
def visit(browser: Browser, bench: Bench, request: pytest.FixtureRequest) -> Iterator[Visit]:
    """Give a window of a desk's and of a phone's size, and see at the end that all went well."""
    context = browser.new_context(viewport=SIZES[request.param], reduced_motion="reduce")
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    port = int(bench.address.rpartition(":")[2])
    page.goto(opening_address(port, bench.keys.make_ticket()))
    page.wait_for_url(f"{bench.address}/")
    visit = Visit(page, bench, request.param)
    page.on("request", lambda asked: visit.asked.append(asked.url))
    page.on("console", lambda said: visit.told.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: visit.told.append(str(error)))
    yield visit
    context.close()
    strange = [url for url in visit.asked if not _is_local(url, bench)]
    assert not strange, strange
    assert not visit.told, visit.told


def _is_local(url: str, bench: Bench) -> bool:
    return urlsplit(url).scheme in {"data", "blob"} or url.startswith(bench.address + "/")


def until(true: Callable[[], bool]) -> None:
    """Wait until something is true."""
    end = time.monotonic() + PATIENCE / 1000
    while not true():
        assert time.monotonic() < end, "it never came true"
        time.sleep(0.02)


@pytest.fixture
def orchard(bench: Bench) -> Bench:
    """Give the bench with the invented range Orchard."""
    return bench


@pytest.fixture
def demo(bench: Bench) -> Bench:
    """Give the bench with the demo."""
    return bench
