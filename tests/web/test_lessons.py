"""Lessons at the bench."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs
from laydown.cli.main import door
from laydown.color.lab import xyz_from_lab
from laydown.demo.files import FAMILIES
from laydown.media.recipe import format_recipe
from laydown.sheet.reading import CellReading
from laydown.store.records import Job
from laydown.web.desk import Desk

Over = Callable[[int], Job]

LIST = """\
passage,role,color,name,note
bank,highlight,Dune,sun,in the sun
bank,shadow,Kelp,weeds,
water,midtone,Dune; Skiff,shallows,
water,shadow,#405060,deep,from a picture
"""
PAPER = "Gannet smooth"


def does(location: str, *command: str) -> bytes:
    """Give a command about lessons; return what it writes."""
    told = CliRunner().invoke(door, ["lesson", *command, "-q", "--db", location])
    assert told.exit_code in {0, 3}, told.output
    return told.stdout_bytes


class Teacher:
    """A bench and the command line on the same library, with a lesson in a file and kept."""

    def __init__(
        self, bench: TestClient, jobs: Jobs, over: Over, location: str, folder: Path
    ) -> None:
        self.bench, self.jobs, self.over, self.location = bench, jobs, over, location
        self.folder, self.file = folder, folder / "bank.txt"

    def does(self, *command: str) -> bytes:
        """Give a command about lessons; return what it writes."""
        return does(self.location, *command)

    def posts(self, path: str, fields: dict[str, Any], **others: Any) -> int:
        """Send a form that starts a job; wait for it and return its number."""
        asked = self.bench.post(path, data=fields, **others)
        assert asked.status_code == 303, asked.text
        number = int(asked.headers["location"].rpartition("=")[2])
        job = self.over(number)
        assert job.state == "done", job.message
        return number

    def converted(self, **fields: Any) -> int:
        """Convert the lesson to the range Shoal."""
        asked = {"number": 1, "range": "Shoal", "steps": 2, "turns": 2, **fields}
        return self.posts("/lesson/convert", asked)


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory, shoal_library: Path) -> Path:
    """Lay a folder with a lesson, its list, and a library beside Shoal that it is kept in."""
    folder = tmp_path_factory.mktemp("lesson")
    library, listed, file = (folder / name for name in ("library.db", "bank.csv", "bank.txt"))
    shutil.copyfile(shoal_library, library)
    listed.write_text(LIST, encoding="utf-8")
    does(str(library), "new", str(listed), "--note", "Invented.", "-o", str(file))
    does(str(library), "keep", str(file))
    return folder


@pytest.fixture
def location(request: pytest.FixtureRequest, location: str) -> str:
    """Return where the library of this test is: with the lesson kept where a teacher is asked."""
    if "teacher" in request.fixturenames:
        shutil.copytree(
            request.getfixturevalue("lesson"), Path(location).parent, dirs_exist_ok=True
        )
    return location


@pytest.fixture
def teacher(shoal: TestClient, jobs: Jobs, over: Over, location: str, tmp_path: Path) -> Teacher:
    """Give a teacher with a lesson."""
    return Teacher(shoal, jobs, over, location, tmp_path)


def test_a_lesson_that_is_kept_is_found_at_both_doors(teacher: Teacher) -> None:
    """The list and the lesson have the bytes of the command line; its file is the same file."""
    assert teacher.bench.get("/lessons.json").content == teacher.does("list", "--json")
    shown = teacher.bench.get("/lesson.json?number=1").content
    assert shown == teacher.does("show", str(teacher.file), "--json")
    file = teacher.bench.get("/lesson/file?number=1")
    assert file.content == teacher.file.read_bytes()
    assert 'filename="bank.lesson.txt"' in file.headers["content-disposition"]


def test_a_lesson_shows_passages_roles_notes_and_how_it_is_known(teacher: Teacher) -> None:
    """Each passage has its values from light to dark, and each color what is said of it."""
    page = teacher.bench.get("/lesson?number=1").text
    assert page.index("<h2>bank</h2>") < page.index("<h2>water</h2>")
    assert "Values from light to dark: 8." in page
    for said in ("highlight", "in the sun", "screen estimate", "Invented.", "Gannet smooth"):
        assert said in page


@pytest.mark.parametrize("way", ["file", "pasted"])
def test_a_lesson_is_brought_in(shoal: TestClient, way: str) -> None:
    """Its file or its text leads to its page; the same once more leads to the same one."""
    text = "laydown lesson 1\ntitle: Two\npaper: Gull\ncolor: sky\nxyz: 30 32 50\n"
    file = {"file": ("two.txt", text.encode())}
    for _ in range(2):
        sent = shoal.post("/lessons", files=file) if way == "file" else None
        sent = sent or shoal.post("/lessons", data={"pasted": text})
        assert sent.headers["location"] == "/lesson?number=1"
    page = shoal.get("/lesson?number=1").text
    assert "“Two” is kept." in page
    assert "1 color on Gull." in page


def test_a_lesson_is_made_from_lines(teacher: Teacher) -> None:
    """Lines that were typed make what the same list makes as a file; blanks are passed over."""
    lines = [line.split(",") for line in LIST.splitlines()[1:]]
    lines[1][0] = lines[3][0] = ""  # goes on with the passage above
    lines.insert(2, ["", "", "", "", ""])
    names = ("passage", "role", "color", "name", "note")
    columns = {name: [line[k] for line in lines] for k, name in enumerate(names)}
    fields = {"title": "bank", "paper": PAPER, "notes": "Invented.", **columns}
    made = teacher.bench.post("/lesson/from-list.json", data=fields)
    assert made.content == teacher.does(
        "new", str(teacher.folder / "bank.csv"), "--note", "Invented.", "--json"
    )
    led = teacher.bench.post("/lesson/from-list", data=fields)
    assert led.headers["location"] == "/lesson?number=1"  # it is the one that is kept already


def test_a_lesson_is_made_from_a_list_in_a_file(teacher: Teacher) -> None:
    """A CSV file is read as on the command line, under the title that is given."""
    file = {"file": ("bank.csv", LIST.encode(), "text/csv")}
    fields = {"title": "Another bank", "paper": PAPER}
    made = teacher.bench.post("/lesson/from-list", data=fields, files=file)
    assert "<h1>Another bank</h1>" in teacher.bench.get(made.headers["location"]).text


def test_the_demos_lesson_is_one_click_away(visit: TestClient) -> None:
    """With the demo in and no lesson yet it is offered; it is marked invented."""
    assert "/lesson/from-demo" not in visit.get("/lessons").text
    visit.post("/demo")
    assert "/lesson/from-demo" in visit.get("/lessons").text
    made = visit.post("/lesson/from-demo")
    page = visit.get(made.headers["location"]).text
    assert "<h1>Lemons in a blue bowl</h1>" in page
    assert "Invented: it belongs to the demo." in page
    assert "/lesson/from-demo" not in visit.get("/lessons").text


def test_a_name_that_none_has_is_told_with_its_line(teacher: Teacher) -> None:
    """The third line is the one that was typed third."""
    fields = {"color": ["Kelp", "", "Kelb"], "passage": ["a", "", ""], "paper": PAPER}
    refused = teacher.bench.post("/lesson/from-list", data=fields)
    assert refused.status_code == 404
    assert "the list, line 3" in refused.text
    assert "Kelp" in refused.text


def test_a_conversion_has_the_bytes_of_the_command_line(teacher: Teacher) -> None:
    """What the form asks for is what the command line gives for the same file."""
    number = teacher.converted(shop=["", "Shoal"])
    command = ["--range", "Shoal", "--steps", "2", "--turns", "2", "--shop", "Shoal", "--json"]
    told = teacher.does("convert", str(teacher.file), *command)
    assert teacher.bench.get(f"/lesson/conversion.json?job={number}").content == told


HARBOR = """\
laydown lesson 1
title: Harbor
passage: water
color: glint
xyz: 20.01 22.93 16.70
color: wave
xyz: 18.73 21.51 15.62
color: swell
xyz: 17.50 20.14 14.58
"""
"""Three greens so near each other that one recipe is the nearest to each."""


def test_answers_stand_side_by_side_in_words(teacher: Teacher) -> None:
    """Values kept or broken, cost and proof, and each departure's reason are there to be read."""
    kept = teacher.bench.post("/lessons", data={"pasted": HARBOR})
    number = teacher.converted(number=kept.headers["location"].rpartition("=")[2], coats=2)
    found = teacher.bench.get(f"/lesson/conversion.json?job={number}").json()
    page = teacher.bench.get(f"/lesson/conversion?job={number}").text
    assert found["conversion"]["broken_singly"]
    for lighter, darker in found["conversion"]["broken_singly"]:
        assert f"{lighter} comes out no lighter than {darker}" in page
    assert found["conversion"]["departures"]
    assert not found["conversion"]["broken"]
    for title in ("Color by color", "As a whole", "Transposed 1: ", "Transposed 2: "):
        assert title in page
    assert f"cost {found['conversion']['optimum']['cost']:.1f}" in page
    assert "no other choice is better" in page
    assert "values in order" in page
    for departure in found["conversion"]["departures"]:
        off = departure["further_off"]
        said = f"Further off by {off:.1f}." if off >= 0.05 else f"Closer by {-off:.1f}."
        assert f"{departure['reason']} {said}" in page
    assert f'href="{kept.headers["location"]}"' in page


def test_another_turn_is_shown_when_asked_for(teacher: Teacher) -> None:
    """The second transposed palette takes the place of the first; there is no ninth."""
    number = teacher.converted()
    first, second = (
        teacher.bench.get(f"/lesson/conversion?job={number}&turn={turn}").text for turn in (1, 2)
    )
    assert first != second
    assert teacher.bench.get(f"/lesson/conversion?job={number}&turn=9").status_code == 422
    assert teacher.bench.get(f"/lesson/conversion?job={number}&turn=7").status_code == 404


def test_a_passage_that_loses_its_shape_is_warned_of(teacher: Teacher) -> None:
    """Without darks a night loses its shape; what would mend it is told."""
    text = "laydown lesson 1\ntitle: Far\n\npassage: night\ncolor: moon\nxyz: 91 95 78\n"
    text += "color: sea\nxyz: 2.9 3.0 2.5\n"
    kept = teacher.bench.post("/lessons", data={"pasted": text})
    number = int(kept.headers["location"].rpartition("=")[2])
    narrow = {"number": number, "without": ["Kelp", "Skiff"], "turns": 0, "steps": 1, "coats": 1}
    job = teacher.converted(**narrow)
    page = teacher.bench.get(f"/lesson/conversion?job={job}").text
    assert "night spans" in page
    assert "sea in night" in page
    assert "tick the sets you could buy from" in page
    job = teacher.converted(**narrow, shop="Shoal")
    assert "To buy: Kelp" in teacher.bench.get(f"/lesson/conversion?job={job}").text


def test_each_answer_is_handed_over_as_a_chart(teacher: Teacher) -> None:
    """PDF, HTML and CSV of any of the three, under a title of its own."""
    number = teacher.converted()
    for way, name in (("singly", "bank"), ("together", "bank"), ("turned", "bank-")):
        for form, begins in (("pdf", b"%pdf-"), ("html", b"<!doctype"), ("csv", b"number")):
            asked = {"job": number, "way": way, "form": form}
            file = teacher.bench.get("/lesson/chart", params=asked)
            assert file.content.lower().startswith(begins)
            assert f'filename="{name}' in file.headers["content-disposition"]


def test_a_pack_has_a_part_for_each_range(teacher: Teacher) -> None:
    """Its JSON has the bytes of the command line; PDF and HTML are there to be handed out."""
    fields = {"number": 1, "range": ["Shoal"], "steps": 2}
    number = teacher.posts("/lesson/pack", fields)
    told = teacher.does("pack", str(teacher.file), "--range", "Shoal", "--steps", "2", "--json")
    assert teacher.bench.get(f"/lesson/packed.json?job={number}").content == told
    page = teacher.bench.get(f"/lesson/packed?job={number}").text
    for said in ("From Shoal", ">needed<", "May stand in for it", "Where light and dark meet"):
        assert said in page
    files = [
        teacher.bench.get(f"/lesson/pack/file?job={number}&form={form}") for form in ("pdf", "html")
    ]
    assert files[0].content.startswith(b"%PDF-")
    assert b"A sheet to color in" in files[1].content
    for shown in (page, files[1].text):
        assert "coat" in shown
        assert re.findall(r"[A-Z][a-z]+\*\d|[A-Z][a-z]+; [A-Z]", shown) == []
    assert 'filename="bank-class-pack.pdf"' in files[0].headers["content-disposition"]


def test_returns_keep_person_and_paper(teacher: Teacher) -> None:
    """Files are called after the students; lessons that are kept get a name; all as on the CLI."""
    other = teacher.file.read_text(encoding="utf-8").replace(PAPER, "Gull")
    kept = teacher.bench.post("/lessons", data={"pasted": other})
    number = int(kept.headers["location"].rpartition("=")[2])
    fields = {"number": 1, "kept": [1, number], "person": ["", "Ben"]}
    ana = ("files", ("Ana.txt", teacher.file.read_bytes()))
    job = teacher.posts("/lesson/gather", fields, files=[ana])
    (teacher.folder / "other.txt").write_text(other, encoding="utf-8")
    told = teacher.does("gather", *(f"{w}{teacher.folder / n}" for w, n in RETURNS), "--json")
    assert teacher.bench.get(f"/lesson/returns.json?job={job}").content == told
    page = teacher.bench.get(f"/lesson/returns?job={job}").text
    for said in ("Ana", "Ben", "Gull", "No difference worth naming"):
        assert said in page
    deep = teacher.bench.get(f"/lesson/returns?job={job}&color=deep").text
    assert "<h2>deep <small>water, shadow</small></h2>" in deep
    assert deep.count("No difference worth naming") == 2
    assert teacher.bench.get(f"/lesson/returns/file?job={job}").text.startswith("person,paper")


RETURNS = [("", "bank.txt"), ("Ana=", "bank.txt"), ("Ben=", "other.txt")]


def test_a_long_lesson_is_shown_in_parts(shoal: TestClient) -> None:
    """Sixty colors at once, and the way to those before and after; none is left out."""
    colors = "".join(f"color: gray {k}\nxyz: {k + 9} {k + 10} {k * 0.8 + 8}\n" for k in range(80))
    shoal.post("/lessons", data={"pasted": f"laydown lesson 1\npassage: a\n{colors}"})
    first, second = (shoal.get(f"/lesson?number=1&first={n}").text for n in (0, 60))
    assert first.count("<h3>gray ") == 60
    assert "The colors after" in first
    assert second.count("<h3>gray ") == 20
    assert "61 to 80 of 80" in second
    assert "The colors before" in second


MADE = {
    "Kelp": np.array([52.0, -22.0, 24.0]),
    "Dune": np.array([82.0, 3.0, 22.0]),
    "Skiff": np.array([60.0, -8.0, -30.0]),
}
"""What a student made of the recipes of a sheet, CIELAB."""


@pytest.fixture
def sheet(shoal: TestClient, desk: Desk) -> TestClient:
    """Give a bench with a sheet of three recipes that was colored and read."""
    made = shoal.post(
        "/sheets",
        data={"kind": "list", "range": "Shoal", "paper": PAPER, "recipes": "Kelp\nDune\nSkiff"},
    )
    assert made.status_code == 303, made.text
    with desk.library.work("read") as work:
        number = work.sheets.numbers()[0]
        cells = [cell for cell in work.sheets.get(number).cells if not cell.bare]
        read = [
            CellReading(
                cell.number, xyz_from_lab(MADE[format_recipe(cell.recipe)]), 0.4, frozenset()
            )
            for cell in cells
        ]
        work.sheets.add_readings(
            number,
            read,
            stage="dry",
            conversion="chart",
            accepted=frozenset(c.number for c in cells),
        )
    return shoal


def sheet_fields(bench: TestClient, said: dict[str, tuple[str, str]], **more: Any) -> Any:
    """Return the fields of a form that says passage and name of each recipe of the sheet."""
    assert "/lesson/of-sheet?sheet=" in bench.get("/lessons").text
    number = bench.get("/sheets.json").json()["sheets"][0]["number"]
    shown = bench.get(f"/lesson/of-sheet.json?sheet={number}").json()["cells"]
    cells = {c["number"]: c["recipe"].rpartition("/")[2] for c in shown if c["recipe"]}
    told = [said.get(recipe, ("", "")) for recipe in cells.values()]
    passages, names = ([one[k] for one in told] for k in (0, 1))
    return {"sheet": number, "cell": list(cells), "passage": passages, "name": names, **more}


@pytest.mark.parametrize("family", FAMILIES)
def test_a_ready_family_is_a_lesson_marked_invented(shoal: TestClient, family: str) -> None:
    """One press keeps it, and every passage goes from highlight down to shadow."""
    assert f'value="{family}">' in shoal.get("/lessons").text
    made = shoal.post("/lesson/from-family", data={"family": family})
    lesson = shoal.get(made.headers["location"].replace("/lesson", "/lesson.json")).json()
    assert lesson["lesson"]["title"] == f"{family.capitalize()} (invented)"
    assert lesson["lesson"]["notes"][0].startswith("Invented")
    assert lesson["troubles"] == []
    assert len(lesson["looks"]) == 12


def test_a_filled_sheet_becomes_a_lesson_by_passages(sheet: TestClient) -> None:
    """Cells of one passage come together from light to dark, with roles; others stay last."""
    said = {"Kelp": ("bank", ""), "Dune": ("bank", "")}
    fields = sheet_fields(sheet, said, title="Bank")
    assert sheet.get(f"/lesson/of-sheet?sheet={fields['sheet']}").text.count("<h2>Cell ") == 3
    assert "Make a lesson of its colors" in sheet.get(f"/sheet?number={fields['sheet']}").text
    made = sheet.post("/lesson/from-sheet", data=fields)
    shown = sheet.get(made.headers["location"].replace("/lesson?", "/lesson.json?")).json()[
        "lesson"
    ]
    assert (shown["title"], shown["paper"]) == ("Bank", PAPER)
    told = [(c["passage"], c["role"], c["name"]) for c in shown["colors"]]
    assert told == [("bank", "light", "Dune"), ("bank", "shadow", "Kelp"), ("", "", "Skiff")]


def test_colors_of_a_sheet_are_named_as_the_lesson_names_them(sheet: TestClient) -> None:
    """So a student's sheet becomes a return; cells that nothing was said of stay out."""
    fields = sheet_fields(sheet, {"Kelp": ("", "weeds"), "Dune": ("bank", "sand")})
    made = sheet.post("/lesson/from-sheet", data=fields)
    shown = sheet.get(made.headers["location"].replace("/lesson?", "/lesson.json?")).json()[
        "lesson"
    ]
    told = {(c["passage"], c["name"]) for c in shown["colors"]}
    assert told == {("", "weeds"), ("bank", "sand")}


def test_a_cell_that_was_not_read_is_told(sheet: TestClient) -> None:
    """A passage with a cell that the sheet hasn't is answered with those it has."""
    fields = sheet_fields(sheet, {}, passage=["bank"] * 4)
    fields["cell"].append(1999)
    refused = sheet.post("/lesson/from-sheet", data=fields)
    assert refused.status_code == 404
    assert "1999" in refused.text


def test_what_was_made_stays_when_the_lesson_goes(teacher: Teacher) -> None:
    """A conversion is shown without its lesson; undo brings the lesson back to it."""
    number = teacher.converted(turns=0)
    gone = teacher.bench.post("/lesson/remove", data={"number": 1})
    assert "undo brings it back" in teacher.bench.get(gone.headers["location"]).text
    assert teacher.bench.get("/lesson?number=1").status_code == 404
    page = teacher.bench.get(f"/lesson/conversion?job={number}")
    assert page.status_code == 200
    assert "The lesson itself" not in page.text
    assert "Transposed" not in page.text
    undone = CliRunner().invoke(door, ["library", "undo", "-q", "--db", teacher.location])
    assert undone.exit_code == 0
    assert "The lesson itself" in teacher.bench.get(f"/lesson/conversion?job={number}").text


@pytest.mark.parametrize(
    ("path", "fields", "status", "told"),
    [
        ("/lessons", {"pasted": "color\nKelp\n"}, 422, "a lesson begins with the line"),
        ("/lessons", {"pasted": " "}, 422, "No lesson was named."),
        ("/lesson/from-list", {"color": ["", ""]}, 422, "No color was named."),
        ("/lesson/from-list", {"color": ["Kelp"], "role": ["hero"]}, 422, "Choose"),
        ("/lesson/from-sheet", {"sheet": 9, "cell": [1]}, 404, "9"),
        ("/lesson/convert", {"number": 9, "range": "Shoal"}, 404, "There is no lesson 9 here."),
        ("/lesson/gather", {"number": 1}, 422, "No return was named."),
        ("/lesson/remove", {"number": 9}, 404, "There is no lesson 9 here."),
    ],
)
def test_what_cant_be_done_is_one_sentence_and_a_way_on(
    teacher: Teacher, path: str, fields: dict[str, Any], status: int, told: str
) -> None:
    """Each wrong form is answered with what to do."""
    refused = teacher.bench.post(path, data=fields)
    assert refused.status_code == status
    assert told in refused.text
    assert 'role="alert"' in refused.text


def test_what_failed_is_mended_where_it_was_asked(teacher: Teacher) -> None:
    """The page of a job that failed leads to the form, filled in as it was sent."""
    fields = {"number": 1, "range": "Shoal", "paper": "Nowhere", "turns": 7, "shop": "Shoal"}
    asked = teacher.bench.post("/lesson/convert", data=fields)
    job = int(asked.headers["location"].rpartition("=")[2])
    teacher.over(job)
    assert f"/lesson/asked?job={job}" in teacher.bench.get(f"/job?number={job}").text
    led = teacher.bench.get(f"/lesson/asked?job={job}").headers["location"]
    assert led == f"/lesson?number=1&job={job}#convert"
    page = teacher.bench.get(led).text
    for said in ('value="7" selected', 'name="shop" value="Shoal" checked'):
        assert said in page
    teacher.bench.post("/lesson/remove", data={"number": 1})
    assert "not kept here any more" in teacher.bench.get(f"/lesson/asked?job={job}").text


@pytest.mark.parametrize("page", ["conversion", "packed", "returns", "chart", "pack/file", "asked"])
def test_a_job_of_another_kind_is_told(teacher: Teacher, page: str) -> None:
    """A number that made something else, or nothing, has no such page."""
    chart = teacher.posts("/charts", {"range": "Shoal", "pasted": "Kelp"})
    assert teacher.bench.get(f"/lesson/{page}?job={chart}").status_code == 404
    assert teacher.bench.get(f"/lesson/{page}?job=99").status_code == 404


def test_a_file_that_is_too_large_is_refused(teacher: Teacher) -> None:
    """A photograph in place of a lesson is told by its size."""
    sent = teacher.bench.post("/lessons", files={"file": ("a.jpg", b"x" * 1_000_001)})
    assert sent.status_code == 413
    assert "A lesson is a text file" in sent.text


def test_a_lesson_is_answered_box_by_box(teacher: Teacher) -> None:
    """Each color has what each box lays for it, and where a box has no answer it says why."""
    for kit, names in (("Ana", "Kelp"), ("Ben", "Dune\nSkiff")):
        teacher.bench.post("/kits", data={"name": kit})
        teacher.bench.post("/kit/own", data={"kit": kit, "pasted": names})
    assert 'href="/boxes/lesson?number=1"' in teacher.bench.get("/lesson?number=1").text
    answer = teacher.bench.get("/boxes/lesson.json?number=1").json()["boxes"]
    assert [one["kit"] for one in answer] == ["Ana", "Ben"]
    lesson = teacher.bench.get("/lesson.json?number=1").json()["lesson"]["colors"]
    for one, only in zip(answer, ({"Kelp"}, {"Dune", "Skiff"}), strict=True):
        assert [match["target"]["name"] for match in one["found"]] == [c["name"] for c in lesson]
        laid = {match["best"]["prediction"]["recipe"] for match in one["found"]}
        assert all(any(name in recipe for name in only) for recipe in laid if recipe)
    page = teacher.bench.get("/boxes/lesson?number=1").text
    assert page.count('class="answered"') == len(lesson)
    assert "Ana, Ben" in page


def test_a_lesson_leads_to_all_that_was_made_of_it(teacher: Teacher) -> None:
    """Its conversion and its page that answers stand on it, and in the list of lessons."""
    teacher.converted()
    teacher.posts("/lesson/page", {"number": 1, "range": "Shoal", "paper": PAPER})
    other = {"pasted": "laydown lesson 1\ntitle: Two\npaper: Gull\ncolor: sky\nxyz: 30 32 50\n"}
    teacher.bench.post("/lessons", data=other)
    for path in ("/lesson?number=1", "/lessons"):
        page = teacher.bench.get(path).text
        assert 'href="/lesson/conversion?job=' in page
        assert 'href="/page/made?job=' in page
    assert "/page/made?job=" not in teacher.bench.get("/lesson?number=2").text
