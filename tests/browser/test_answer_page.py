"""The page that answers, opened from a file in a real browser: it says what a match says."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import segno
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner
from playwright.sync_api import Browser, Page, ViewportSize, expect

from laydown.app.fits import Supplies, SuppliesAtHand, set_up
from laydown.app.lessons.lessons import LessonAsked
from laydown.app.lessons.packs import pack_lesson
from laydown.app.lessons.pages import make_lesson_page
from laydown.app.matches.colors import Asking, find_match
from laydown.app.matches.targets import targets_of_lesson
from laydown.cli.main import door
from laydown.documents.files.lessons import read_lesson
from laydown.errors import UnknownNameError
from laydown.match.words import instructions
from laydown.reference.thresholds import thresholds
from laydown.store.library import open_library

pytestmark = pytest.mark.long

DEMO = Path(__file__).parent.parent.parent / "src" / "laydown" / "demo" / "data"
HOSTILE = "</script><b>“x”</b> שלום\u202e"
LESSON = f"""laydown lesson 1
title: A jar {HOSTILE}
paper: Gannet smooth
passage: jar
color: rim
  note: <img src=x onerror=alert(1)>
  xyz: 52 55 40
color: belly
  xyz: 20 18 9
passage: leaf
color: blade {HOSTILE}
  xyz: 12 18 8
color: void
  xyz: 2 2 2
color: stone
  xyz: 31 32 26
color: skin
  xyz: 48 46 27
"""
ASKING = Asking(Supplies(ranges=("Orchard",), paper="Gannet smooth"), steps=2, coats=2)
SMALL: ViewportSize = {"width": 320, "height": 640}
KITS = 8
ADDRESS, TIN = "https://example.org/jar.html", ("Quince", "Gravel")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, SuppliesAtHand]:
    """Give the page of a lesson from the invented range Orchard, and the range set up."""
    folder = tmp_path_factory.mktemp("page")
    location = str(folder / "library.db")
    swatches = str(DEMO / "orchard_on_gannet_smooth.csv")
    done = CliRunner().invoke(door, ["swatches", "import", swatches, "--db", location, "-q"])
    assert done.exit_code == 0, done.output
    for command in (["kit", "create", "Tin"], ["kit", "own", "Tin", *TIN]):
        done = CliRunner().invoke(door, [*command, "--db", location, "-q"])
        assert done.exit_code == 0, done.output
    library = open_library(location)
    page = make_lesson_page(
        library, LessonAsked(LESSON.encode(), "jar.txt", ASKING, address=ADDRESS, ticked=("Tin",))
    )
    file = folder / "jar.html"
    file.write_text(page.html, encoding="utf-8")
    bench = set_up(library, ASKING.supplies)
    return file, bench


@pytest.fixture
def page(browser: Browser, made: tuple[Path, SuppliesAtHand]) -> Iterator[Page]:
    """Open it on a small phone, from its file; it asks for nothing and complains of nothing."""
    context = browser.new_context(viewport=SMALL, reduced_motion="reduce")
    context.set_default_timeout(120_000)
    opened, asked, told = context.new_page(), list[str](), list[str]()
    opened.on("request", lambda request: asked.append(request.url))
    opened.on("pageerror", lambda error: told.append(str(error)))
    _open(opened, made[0])
    yield opened
    context.close()
    assert {url.partition("#")[0] for url in asked} == {made[0].as_uri()}
    assert not told


def _open(page: Page, file: Path, ticks: str = "") -> None:
    page.goto(file.as_uri() + ticks)
    page.wait_for_selector("body.ready")


def _tick(page: Page, places: list[int]) -> list[tuple[str, float, list[str]]]:
    """Tick just these colorants; return each color's name, cost and steps as shown."""
    page.evaluate("places => { owned = new Set(places); refresh(); }", places)
    shown = page.evaluate(
        """() => [...document.querySelectorAll("article")].map((one) => [
        one.dataset.color, Number(one.dataset.cost),
        [...one.querySelectorAll("li")].map((step) => step.textContent.trim())])"""
    )
    return [(name, cost, steps) for name, cost, steps in shown]


def test_the_page_answers_as_a_match_does(page: Page, made: tuple[Path, SuppliesAtHand]) -> None:
    """Recipe and cost of every color, for random parts of the range, within what is listed."""
    bench = made[1]
    targets = targets_of_lesson(read_lesson(LESSON.encode(), source="jar.txt"), bench.swatched)
    usable = [c for c in bench.whole.colorants if c.label not in bench.without]
    rng, same = np.random.default_rng(17), 0
    sizes = rng.integers(3, 30, KITS)
    for size in sizes:
        places = sorted(rng.choice(len(usable), int(size), replace=False).tolist())
        rest = frozenset(c.label for i, c in enumerate(usable) if i not in places)
        kit = SuppliesAtHand("kit", bench.whole, bench.swatched, rest, bench.over, ())
        shown = _tick(page, places)
        exact = page.evaluate("PAGE.colors.map((color) => listFor(color, owned).exact)")
        for target, limit, (name, cost, steps) in zip(targets, exact, shown, strict=True):
            assert name == target.name.replace("\u202e", "")
            best = find_match(target, kit, ASKING, watch=None).best
            if best.cost <= limit:
                same += 1
                assert steps == list(instructions(best.prediction.recipe))
                assert cost == pytest.approx(best.cost, abs=6e-4)
            else:
                assert cost > limit
    assert same > KITS


def test_pack_and_page_agree(page: Page, made: tuple[Path, SuppliesAtHand]) -> None:
    """Who ticks a range but its blenders, without which a pack is made, gets the pack's recipes."""
    library = open_library(str(made[0].parent / "library.db"))
    (part,) = pack_lesson(library, LessonAsked(LESSON.encode(), "jar.txt", ASKING)).parts
    library.close()
    packed = {match.target.name.replace("\u202e", ""): match.best for match in part.chart.matches}
    usable = [c for c in made[1].whole.colorants if c.label not in made[1].without]
    shown = _tick(page, [place for place, c in enumerate(usable) if not c.blender])
    assert len(shown) == len(packed) == 6
    for name, cost, steps in shown:
        assert steps == list(instructions(packed[name].prediction.recipe))
        assert cost == pytest.approx(packed[name].cost, abs=6e-4)


def test_one_more_is_the_one_that_saves_most(page: Page) -> None:
    """As trying each colorant that is not ticked says."""
    found = page.evaluate(
        """() => {
        const owned = new Set([3, 8, 15]);
        const saved = (color, more) =>
          Math.max(0, answer(color, owned).cost - answer(color, new Set([...owned, more])).cost);
        const told = gains(PAGE.colors, owned);
        return PAGE.markers.map(({number}) => [
          PAGE.colors.reduce((sum, color) => sum + saved(color, number), 0),
          (told.get(number) || {saved: 0}).saved]);
        }"""
    )
    assert max(tried for tried, _ in found) > 1.0
    for tried, told in found:
        assert told == pytest.approx(tried, abs=1e-9)


def test_one_more_that_saves_nothing_that_shows_is_not_named(page: Page) -> None:
    """Where the most that a single one would save over all colors is less than one can see."""
    told = page.evaluate(
        """() => {
        const all = PAGE.markers.map(({number}) => number);
        const saved = (kit) => Math.max(0, ...[...gains(PAGE.colors, kit).values()]
          .map((gain) => gain.saved));
        return all.map((left) => {
          owned = new Set(all.filter((number) => number !== left));
          refresh();
          return [saved(owned), by("one-more").innerText];
        });
        }"""
    )
    least = thresholds()["noticeable"]
    assert any(0.0 < saved < least for saved, _ in told)
    assert any(saved >= least for saved, _ in told)
    for saved, words in told:
        assert words.startswith("No single one more") == (saved < least)


def test_only_colors_whose_answer_changes_are_drawn_anew(page: Page) -> None:
    """The others keep what is drawn, and with it where the reader is."""
    kept = page.evaluate(
        """() => {
        owned = new Set([3, 8]);
        refresh();
        const before = PAGE.colors.map((color) => [color, answer(color, owned)]);
        const drawn = [...document.querySelectorAll("article")];
        tick([15], true);
        const now = [...document.querySelectorAll("article")];
        return before.map(([color, way], n) => [answer(color, owned) === way,
          drawn.includes(now[n])]);
        }"""
    )
    assert {same for same, _ in kept} == {True, False}
    assert all(same == is_kept for same, is_kept in kept)


def test_a_code_opens_the_page_with_a_kit_ticked(
    page: Page, made: tuple[Path, SuppliesAtHand]
) -> None:
    """The code is that of the address below it, which ticks just what the kit holds."""
    section = page.locator(".codes")
    expect(section).to_contain_text("Tin, ticked")
    told = re.search(rf"{re.escape(ADDRESS)}#own=[\w-]+", section.inner_text())
    assert told
    drawn = segno.make_qr(told.group(), error="m").svg_inline(border=4, dark="#000", light="#fff")
    assert drawn in made[0].read_text(encoding="utf-8")
    _open(page, made[0], "#" + told.group().partition("#")[2])
    names = page.evaluate("[...owned].map((number) => PAGE.markers[number].name)")
    assert sorted(names) == sorted(["Gravel", "Quince"])


def test_what_is_no_address_of_a_web_page_makes_no_code(made: tuple[Path, SuppliesAtHand]) -> None:
    """It is told before any color is looked for."""
    library = open_library(str(made[0].parent / "library.db"))
    for address in ("", "jar.html", "javascript://a.b/%0aalert(1)", "https://no"):
        asked = LessonAsked(LESSON.encode(), "jar.txt", ASKING, address=address, ticked=("Tin",))
        with pytest.raises(UnknownNameError, match="is no address of a web page"):
            make_lesson_page(library, asked)
    library.close()


def test_names_are_found_near_names_are_asked_about(page: Page) -> None:
    """By name in any case, with range, and with a slip; what is unlike all is told."""
    page.get_by_text("Paste a list of names").click()
    page.get_by_label("One name a line, or with commas").fill(
        "QUINCE, Orchard/Gravel\nBeezwax\nZzzz"
    )
    page.get_by_role("button", name="Tick these").click()
    expect(page.locator("#pasted")).to_contain_text("two names are found")
    expect(page.locator("#pasted")).to_contain_text("“Zzzz” is not among them")
    page.get_by_role("button", name="Tick Beeswax").click()
    expect(page.locator("#count")).to_have_text("three are ticked of 36.")


def test_ticks_are_kept_on_the_device_and_in_the_address(
    page: Page, made: tuple[Path, SuppliesAtHand]
) -> None:
    """Opened again they are there, and an address with others wins."""
    page.get_by_label("Quince", exact=True).check()
    address = page.evaluate("`#own=${pack(owned, PAGE.markers.length)}`")
    # by its address: the page forbids `eval`, by which Playwright asks a second time
    expect(page).to_have_url(re.compile(f"{re.escape(address)}$"))
    page.goto("about:blank")
    _open(page, made[0])
    expect(page.get_by_label("Quince", exact=True)).to_be_checked()
    page.get_by_role("button", name="Untick all shown").click()
    page.goto("about:blank")
    _open(page, made[0], address)
    expect(page.get_by_label("Quince", exact=True)).to_be_checked()


def test_it_is_readable_on_a_small_phone_in_light_and_dark(page: Page) -> None:
    """No grave complaint of axe, nothing wider than 320 pixels, hostile text only text."""
    _tick(page, [1, 2, 3])
    page.evaluate(  # rows out of view are laid out, too
        """() => document.querySelectorAll("article").forEach((row) => {
        row.style.contentVisibility = "visible"; })"""
    )
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        found = Axe().run(page).response["violations"]
        grave = [v["id"] for v in found if v["impact"] in {"serious", "critical"}]
        assert not grave, grave
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert page.locator("main b, main img").count() == 0
    expect(page.get_by_text("<img src=x onerror=alert(1)>")).to_be_visible()
    refused = page.evaluate("fetch('https://example.org').then(() => 'sent', () => 'refused')")
    assert refused == "refused"


def test_four_times_as_many_colors_print_to_one_sheet(page: Page) -> None:
    """With what one more would bring and the cautions, on either usual size of paper."""
    page.evaluate(
        """() => {
        PAGE.colors = [1, 2, 3, 4].flatMap(() => PAGE.colors.map((color) => ({ ...color })));
        SHOWN.clear();
        listColors();
        tick([1, 2, 3, 9, 20], true); }"""
    )
    assert page.locator("article").count() == 24
    for size in ("A4", "Letter"):
        assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=size))) == 1


def test_beyond_what_is_listed_the_best_of_two_steps_is_shown(
    page: Page, made: tuple[Path, SuppliesAtHand]
) -> None:
    """However far off a kit is: the pair that a match finds, and the nearest of one alone."""
    bench = made[1]
    targets = targets_of_lesson(read_lesson(LESSON.encode(), source="jar.txt"), bench.swatched)
    usable = [c for c in bench.whole.colorants if c.label not in bench.without]
    rng, far, alone = np.random.default_rng(5), 0, 0
    for _ in range(KITS):
        places = sorted(rng.choice(len(usable), 3, replace=False).tolist())
        rest = frozenset(c.label for i, c in enumerate(usable) if i not in places)
        kit = SuppliesAtHand("kit", bench.whole, bench.swatched, rest, bench.over, ())
        shown = _tick(page, places)
        limits = page.evaluate("PAGE.colors.map((color) => listFor(color, owned).exact)")
        said = page.locator("article").all_text_contents()
        every = zip(targets, shown, limits, said, strict=True)
        for target, (_, cost, steps), limit, text in every:
            best = find_match(target, kit, ASKING, watch=None)
            assert ("What is ticked can’t come near this." in text) == (cost > limit)
            assert "may come nearer" not in text  # than two steps there is nothing more here
            if cost <= limit:
                continue
            far += 1
            assert cost == pytest.approx(best.best.cost, abs=0.03)
            assert steps == list(instructions(best.best.prediction.recipe))
            if "Nearest alone" in text:
                alone += 1
                (words,) = instructions(best.single.prediction.recipe)
                assert f"Nearest alone: {words}" in " ".join(text.split())
    assert far > KITS
    assert alone > KITS


def test_of_one_marker_nothing_is_said_to_come_nearer(page: Page) -> None:
    """Where one alone is owned, and can't come near a color."""
    page.evaluate("PAGE.further = 'Three steps may come nearer.'")
    _tick(page, [0, 1])
    assert any("may come nearer" in text for text in page.locator("article").all_text_contents())
    _tick(page, [0])
    said = page.locator("article").all_text_contents()
    assert any("can’t come near" in text for text in said)
    assert not any("may come nearer" in text for text in said)


def test_the_keyboard_is_enough(page: Page) -> None:
    """Search, tick and untick without a pointer."""
    page.get_by_label("Search").focus()
    page.keyboard.type("quin")
    assert page.locator("#own label:visible").count() == 1
    page.get_by_label("Quince", exact=True).focus()
    page.keyboard.press("Space")
    expect(page.locator("#count")).to_have_text("one is ticked of 36.")


def test_an_answer_comes_at_once(page: Page) -> None:
    """A tick is answered by going through what is listed once: steps of that work are counted."""
    looked = page.evaluate(
        """() => { let looked = 0;
        for (const color of PAGE.colors) for (const way of color.listed.ways) {
          const needs = way.needs; Object.defineProperty(way, "needs",
            { get() { looked += 1; return needs; } }); }
        tick([0], true); return looked; }"""
    )
    ways = page.evaluate("PAGE.colors.reduce((sum, color) => sum + color.listed.ways.length, 0)")
    assert 0 < looked <= 8 * ways


def test_the_lesson_is_read_back_from_the_page(made: tuple[Path, SuppliesAtHand]) -> None:
    """All that takes a lesson file takes the page; nothing private is in it."""
    content = made[0].read_bytes()
    lesson = read_lesson(content, source="jar.html")
    assert [color.name.split()[0] for color in lesson.colors] == [
        "rim",
        "belly",
        "blade",
        "void",
        "stone",
        "skin",
    ]
    assert str(made[0].parent).encode() not in content


def test_data_is_small(made: tuple[Path, SuppliesAtHand]) -> None:
    """A lesson of six colors from 36 markers."""
    assert len(made[0].read_bytes()) < 60_000
    assert json.dumps(HOSTILE) not in made[0].read_text("utf-8")
