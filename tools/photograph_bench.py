"""Photograph every page of the bench at two widths into docs/bench, and measure each.

Run it after a change of the pages: ``python tools/photograph_bench.py``; it needs Chromium and
takes some minutes, most of them for the demo's fits. With names of pages it photographs these
alone; ``--dim`` shows them in a dim room, and ``--to FOLDER`` puts them elsewhere. Beside each
picture it prints how high the page is, in screens, how high its header, and how far it scrolls
sideways.
"""

import argparse
import io
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import BrowserContext, FilePayload, FloatRect, Page, sync_playwright

from laydown.app.library import open_named
from laydown.app.sheets.printing import find_sheet
from laydown.demo.files import CLASS_PAPER, STUDENTS_RANGE, read_rows
from laydown.demo.lemons import lemons_png
from laydown.demo.photograph import colored_and_photographed
from laydown.imaging.files import open_photographs
from laydown.web.long_work import SHOWN_AT
from laydown.web.pages.first import ORDER, guide_page
from laydown.web.running import own_cookie
from laydown.web.serving import bind

CHROMIUM = Path("/usr/bin/chromium")
FOLDER = Path(__file__).parent.parent / "docs" / "bench"
DOCS = FOLDER.parent / "guide"
SEEN_FROM_DOCS = "../../src/laydown/web/static/guide/"
PICTURES = Path(__file__).parent.parent / "src" / "laydown" / "web" / "static" / "guide"
GUIDE_WIDTH, HIGHEST = 640, 420
"""A picture of the guide, at most [px]."""
WIDTHS = {1280: (900, 2 / 3), 390: (844, 1.0)}
"""How wide a window is [px]: how high, and how much smaller its picture."""
MOST_SCREENS = 2
QUALITY = 45
OWN = "kit=demo%20student&paper=Gannet%20smooth"
Form = dict[str, str | float | bool]
SET: Form = {"from": "kit:demo student", "paper": "Gannet smooth"}
PAGES = {
    "color-in-hand": f"/color?wanted=Lantern&{OWN}",
    "which-color": "/color",
    "first-page": "/",
    "my-box": f"/box?{OWN}",
    "what-runs-low": f"/box?{OWN}&mark=running%20low",
    "what-it-makes": f"/over?color=Orchard/Honeycomb&{OWN}",
    "shadow-and-light": f"/partners?color=Orchard/Honeycomb&{OWN}",
    "between-two": f"/gradient?first=Orchard/Honeycomb&second=Orchard/Damson&{OWN}",
    "what-if": f"/lay?recipe=Orchard/Honeycomb*2;%20Orchard/Damson&{OWN}",
    "fix-it": f"/fix?over=Orchard/Honeycomb&wanted=Hedge&{OWN}",
    "muddy": f"/muddy?recipe=Honeycomb;%20Damson&{OWN}",
    "box-by-box": "/boxes?wanted=Lantern",
    "each-over-each": f"/grid?{OWN}",
    "twins": f"/twins?{OWN}",
    "search": "/find?q=ho",
    "the-guide": "/guide?page=why-colors-go-muddy",
    "work": "/work",
    "boxes": "/kits",
    "a-box": "/kit?name=demo%20student",
    "sets": "/ranges",
    "a-set": "/range?name=Orchard&paper=Gannet%20smooth",
    "papers": "/papers",
    "a-paper": "/paper?name=Gannet%20smooth",
    "anchors": "/paper/anchors?range=Orchard&paper=Heron%20laid&known_on=Gannet%20smooth",
    "swatches": "/swatches",
    "sheets": "/sheets",
    "a-sheet": "/sheet",
    "a-card": "/card",
    "charts": "/charts",
    "lessons": "/lessons",
    "a-lesson": "/lesson?number=1",
    "pictures": "/pictures",
    "notebook": "/notebook",
    "a-trial": "/trial?number=1",
    "a-new-trial": "/notebook/new?recipe=Honeycomb*2&kit=demo%20student&paper=Gannet%20smooth",
    "finished": "/finished",
    "finished-work": "/finished/work?number=1",
    "what-to-try": "/notebook/next",
    "hands": "/hand",
    "what-to-buy": "/choosing?lesson=1",
    "shading-runs": "/runs",
    "under-lights": "/light",
    "on-a-wall": "/light/wall",
    "lightfastness": "/light/classes",
    "window-test": "/light/window",
    "long-work": "/jobs",
    "history": "/history",
    "a-phone": "/phone",
    "the-demo": "/demo",
    "closing": "/stop",
}
UNLISTED = {"over-another": f"/color?wanted=%23806040&over=Quince&{OWN}"}
COLORS = "#c8a050\n#806040\n#a0b8c8\n#5a6b3c"
MADE: dict[str, tuple[str, Form]] = {
    "a-chart": ("/charts", {**SET, "pasted": COLORS, "steps": 1}),
    "a-lesson-converted": ("/lesson/convert", {**SET, "number": 1, "steps": 1, "turns": 1}),
    "a-class-pack": (
        "/lesson/pack",
        {"number": 1, "paper": "Gannet smooth", "range": "Orchard", "steps": 1, "coats": 2},
    ),
    "a-page-that-answers": (
        "/lesson/page",
        {"number": 1, "paper": "Gannet smooth", "range": "Orchard", "steps": 1},
    ),
    "runs-found": ("/runs", SET),
    "sets-compared": (
        "/ranges/compare",
        {"first": "Orchard", "second": "Estuary", "paper": "Gannet smooth"},
    ),
    "a-set-chosen": (
        "/choosing",
        {
            "lesson": 1,
            "paper": "Gannet smooth",
            "range": "Orchard",
            "steps": 1,
            "coats": 3,
            "aim": "best",
            "most": 12,
            "seconds": 5,
        },
    ),
    "a-travel-set": (
        "/choosing",
        {"out_of": "demo student", "paper": "Gannet smooth", "aim": "best", "most": 8},
    ),
    "lights-checked": ("/light/check", {**SET, "lesson": 1, "steps": 1}),
    "how-long-it-lasts": ("/light/wall", {**SET, "lesson": 1, "lux": "200"}),
    "a-picture-planned": ("/pictures/demo", {}),
}
"""Pages of long work: where its form is sent, and what it says."""
GUIDE = {
    "ask-for-a-color": ("first-page", ".chips"),
    "read-an-answer": ("color-in-hand", ".matched .sides"),
    "why-colors-go-muddy": ("what-it-makes", "#answer section"),
    "light-middle-dark": ("shadow-and-light", "#answer .strip"),
    "fix-what-is-on-the-paper": ("over-another", ".matched .sides"),
    "teach-from-one-palette": ("a-lesson-converted", ".strips"),
    "buy-only-what-helps": ("a-set-chosen", ".strips"),
    "learn-from-what-you-tried": ("a-trial", ".adjoining"),
}
"""Pictures of the guide: the page that each is taken from, and what part of it."""
MEASURED = """() => ({
  screens: document.documentElement.scrollHeight / window.innerHeight,
  header: document.querySelector("header")?.getBoundingClientRect().height ?? 0,
  wide: document.documentElement.scrollWidth - window.innerWidth,
})"""


def main() -> None:
    """Open a bench on the demo, and photograph what is asked for."""
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("names", nargs="*", choices=[[], *PAGES, *MADE])
    told.add_argument("--guide", action="store_true", help="the guide's pictures, and its copy")
    told.add_argument("--dim", action="store_true")
    told.add_argument("--to", type=Path, default=FOLDER)
    asked = told.parse_args()
    names = asked.names or [*PAGES, *MADE]
    asked.to.mkdir(parents=True, exist_ok=True)
    with bench() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        context = browser.new_context(
            color_scheme="dark" if asked.dim else "light", reduced_motion="reduce"
        )
        context.set_default_timeout(300_000)
        let_in(context, address)
        prepare(context, address)
        page = context.new_page()
        if asked.guide:
            picture_guide(page, address)
            write_guide()
            return
        for name in names:
            try:
                page.goto(address + path_of(context, address, name), wait_until="networkidle")
                photograph(page, asked.to, name)
            except Exception as error:  # the others are photographed all the same
                print(f"{name:24} FAILED {str(error)[:300]}")
        browser.close()


@contextmanager
def bench() -> Iterator[str]:
    """Open a bench on a library with the demo; give its address."""
    with tempfile.TemporaryDirectory() as folder:
        free = bind(0)
        port = free.getsockname()[1]
        free.close()
        command = [sys.executable, "-m", "laydown", "serve", "--no-browser", "--port", str(port)]
        open_one = subprocess.Popen(
            [*command, "--db", str(Path(folder) / "library.db")], stdout=subprocess.DEVNULL
        )
        try:
            while not own_cookie(port):
                time.sleep(0.2)
            time.sleep(2)
            yield f"http://127.0.0.1:{port}"
        finally:
            open_one.terminate()
            open_one.wait()


def let_in(context: BrowserContext, address: str) -> None:
    """Give a browser what lets this account's commands in."""
    name, _, value = own_cookie(int(address.rpartition(":")[2]))["Cookie"].partition("=")
    context.add_cookies([{"name": name, "value": value, "url": address}])


def prepare(context: BrowserContext, address: str) -> None:
    """Put in the demo, its lesson, a trial and a finished picture."""
    sent: tuple[tuple[str, Form], ...] = (
        ("/demo", {}),
        ("/lesson/from-demo", {}),
        ("/sheets", {"kind": "kit", "kit": "demo student", "paper": "Heron laid"}),
        ("/notebook", {"recipe": "Honeycomb*2", "kit": "demo student", "paper": "Gannet smooth",
                       "wanted": "#c8a050", "color": "lab:70,8,50"}),
    )  # fmt: skip
    lemons: FilePayload = {"name": "lemons.png", "mimeType": "image/png", "buffer": lemons_png()}
    finished: dict[str, str | float | bool | bytes | FilePayload] = {
        "title": "Lemons in a blue bowl", "paper": "Gannet smooth", "recipes": "Honeycomb*2",
        "lesson": 1, "photograph": lemons,
    }  # fmt: skip
    answers = [
        *(context.request.post(address + path, form=fields) for path, fields in sent),
        context.request.post(f"{address}/finished", multipart=finished),
    ]
    for answer in answers:
        if not answer.ok:
            print(f"{answer.url} was answered with {answer.status}: {answer.text()[-1500:]}")


def path_of(context: BrowserContext, address: str, name: str) -> str:
    """Return where a page is, once the long work that it shows is done."""
    if name == "a-sheet":  # its number is known once it is printed
        sheets = context.request.get(f"{address}/sheets.json").json()["sheets"]
        return f"/sheet?number={sheets[0]['number']}"
    listed = PAGES | UNLISTED
    if name in listed:
        return listed[name]
    path, fields = MADE[name]
    answer = context.request.post(f"{address}{path}.json", form=fields)
    if not answer.ok:
        raise RuntimeError(answer.text())
    number = answer.json()["id"]
    while (job := context.request.get(f"{address}/job.json?number={number}").json())["state"] in {
        "waiting",
        "running",
    }:
        time.sleep(1)
    if job["state"] != "done":
        raise RuntimeError(job["message"])
    return f"{SHOWN_AT[job['task']]}?job={number}"


def photograph(page: Page, folder: Path, name: str) -> None:
    """Write a page as it stands at each width, and print its measures."""
    for width, (height, scale) in WIDTHS.items():
        page.set_viewport_size({"width": width, "height": height})
        found = page.evaluate(MEASURED)
        high = min(height * MOST_SCREENS, int(found["screens"] * height))
        clip: FloatRect = {"x": 0, "y": 0, "width": width, "height": high}
        taken = page.screenshot(full_page=True, clip=clip, animations="disabled")
        picture = Image.open(io.BytesIO(taken)).convert("RGB")
        size = (int(width * scale), int(high * scale))
        picture.resize(size, Image.Resampling.LANCZOS).save(
            folder / f"{name}-{width}.webp", quality=QUALITY, method=6
        )
        print(
            f"{name:24}{width:5} px: {found['screens']:5.1f} screens, header {found['header']:.0f}"
            f" px, {found['wide']} px sideways"
        )


def picture_guide(page: Page, address: str) -> None:
    """Take the pictures of the guide, small."""
    page.set_viewport_size({"width": GUIDE_WIDTH, "height": 900})
    for name, (shown, part) in GUIDE.items():
        page.goto(address + path_of(page.context, address, shown))
        box = page.locator(part).first.bounding_box()
        assert box is not None, name
        high = min(box["height"], HIGHEST)
        clip: FloatRect = {
            "x": box["x"] - 8,
            "y": box["y"],
            "width": box["width"] + 16,
            "height": high,
        }
        taken = page.screenshot(full_page=True, clip=clip, animations="disabled")
        save(Image.open(io.BytesIO(taken)), PICTURES / f"{name}.webp")
    picture_sheet(page.context, address)


def picture_sheet(context: BrowserContext, address: str) -> None:
    """Take a sheet as it is printed, and as the simulated student colored and photographed it."""
    names = [row["color"] for row in read_rows("colorants.csv") if row["range"] == STUDENTS_RANGE]
    form: Form = {"names": "\n".join(names[:12]), "paper": CLASS_PAPER, "kit": STUDENTS_RANGE}
    made = context.request.post(f"{address}/begin.json", form=form).json()
    number = made["number"]
    printed = context.request.get(f"{address}/sheet/file?number={number}").body()
    pixels = next(open_photographs(printed, source="sheet.pdf")).pixels
    library = open_named(context.request.get(f"{address}/stop.json").json()["library"])
    colored = colored_and_photographed(find_sheet(library, number), pixels)
    library.close()
    save(Image.fromarray(pixels), PICTURES / "swatch-your-box.webp")
    save(Image.fromarray(colored), PICTURES / "photograph-it.webp")


def write_guide() -> None:
    """Copy the guide into the docs: links into the bench become words."""
    DOCS.mkdir(exist_ok=True)
    contents = ["# The guide", ""]
    for name in ORDER:
        (DOCS / f"{name}.md").write_text(docs_text(name), encoding="utf-8")
        contents.append(f"- [{guide_page(name)['title']}]({name}.md)")
    (DOCS / "README.md").write_text("\n".join([*contents, ""]), encoding="utf-8")


def docs_text(name: str) -> str:
    """Return a page of the guide as it stands in the docs."""
    text = re.sub(r"\[([^]]+)\]\(/[^)]*\)", r"\1", guide_page(name)["text"])
    return re.sub(r"\]\(([\w-]+\.webp)\)", rf"]({SEEN_FROM_DOCS}\1)", text)


def save(picture: Image.Image, path: Path) -> None:
    """Write a picture no wider than a page of the guide."""
    picture = picture.convert("RGB")
    picture.thumbnail((GUIDE_WIDTH, HIGHEST), Image.Resampling.LANCZOS)
    picture.save(path, quality=60, method=6)


if __name__ == "__main__":
    main()
