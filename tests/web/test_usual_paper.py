"""The paper that a page proposes: that on which most of the chosen kit was swatched."""

import re
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from laydown.web.desk import open_desk
from laydown.web.serving import create_application, names_of

SPIT = """\
range,medium,color,paper,coats,L,a,b
Spit,marker,Fig,Tern rough,1,40,9,9
Spit,marker,Fig,Tern rough,2,35,10,9
Spit,marker,Plum,Tern rough,1,30,20,-9
Spit,marker,Plum,Auk rough,1,32,18,-9
"""
"""An invented range that was swatched on one paper, and a little on one before it by alphabet."""


@pytest.fixture(scope="module")
def visit(
    tmp_path_factory: pytest.TempPathFactory, ranges: dict[str, bytes]
) -> Iterator[TestClient]:
    """Give a bench with the demo, a kit and a range of one's own, and a paper without a swatch."""
    location = str(tmp_path_factory.mktemp("papers") / "library.db")
    with (
        open_desk(location, hosts=names_of(8017)) as desk,
        TestClient(
            create_application(desk),
            base_url="http://127.0.0.1:8017",
            follow_redirects=False,
            cookies=desk.keys.cookies(8017),
        ) as visit,
    ):
        visit.post("/demo")
        for file in {**ranges, "spit.csv": SPIT.encode()}.items():
            visit.post("/swatches/import", files={"files": file})
        visit.post("/papers", data={"name": "Aardvark laid"})
        visit.post("/kits", data={"name": "mine"})
        visit.post("/kit/own", data={"kit": "mine", "range": "Spit"})
        lesson = "laydown lesson 1\ntitle: Tide\ncolor: glint\nxyz: 20.01 22.93 16.70\n"
        visit.post("/lessons", data={"pasted": lesson})
        yield visit


def proposed(page: str) -> list[str]:
    """Return the paper of each field for one that has no other choice than a paper."""
    fields = re.findall(r'<select name="paper">(.*?)</select>', page, re.DOTALL)
    texts = re.findall(r'<input type="text" name="paper" value="(.+?)"', page)
    fields = [field for field in fields if 'value=""' not in field]
    return texts + [
        (re.findall(r'value="([^"]+)"[^>]* selected', field) or ["the first"])[0]
        for field in fields
    ]


@pytest.mark.parametrize(
    "address",
    [
        "/color?kit=mine",
        "/partners?kit=mine",
        "/gradient?kit=mine",
        "/light?kit=mine",
        "/light/wall?range=Spit",
        "/sheets?kit=mine",
        "/notebook/new?kit=mine",
        "/choosing",
        "/charts",
        "/runs",
        "/ranges?first=Spit",
        "/lessons",
        "/lesson?number=1",
        "/light/window",
        "/pictures",
    ],
)
def test_the_paper_is_the_one_that_was_swatched_most(visit: TestClient, address: str) -> None:
    """Of the kit, where one is chosen; else of one's own papers, before any invented one."""
    found = proposed(visit.get(address).text)
    assert found
    assert set(found) == {"Tern rough"}


@pytest.mark.parametrize(
    ("kit", "paper"), [("mine", "Tern rough"), ("demo student", "Gannet smooth")]
)
def test_a_kit_brings_its_paper_along(visit: TestClient, kit: str, paper: str) -> None:
    """Each kit to choose from says its paper, so that the choice of paper can follow."""
    page = visit.get("/color").text
    assert re.search(rf'<option value="kit:{kit}" data-paper="{paper}"', page)


def test_a_chosen_paper_stays(visit: TestClient) -> None:
    """Whatever the kit, a paper that was asked for is kept."""
    page = visit.get("/color", params={"kit": "mine", "paper": "Heron laid"}).text
    assert proposed(page) == ["Heron laid"]


@pytest.mark.parametrize("asked", ["range=Spit", "kit=mine"])
def test_a_paper_without_swatches_names_the_one_that_has_them(
    visit: TestClient, asked: str
) -> None:
    """Where nothing was swatched on the paper, the cure is the paper on which most was."""
    refused = visit.get(f"/color?wanted=lab:60,-10,20&paper=Heron laid&{asked}")
    assert refused.status_code == 422
    assert "Choose the paper Tern rough: most of Spit is swatched there." in refused.text
