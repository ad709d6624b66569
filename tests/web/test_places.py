"""Three places, one color in hand, one choice of what to answer from, and a search."""

import re
import sqlite3
from contextlib import closing

import numpy as np
import pytest
from starlette.testclient import TestClient

from laydown.color.lab import ciede2000
from laydown.color.naming import color_name, lab_of_words
from laydown.web.asking import typed_of
from laydown.web.rendering import PLACES, place_of


@pytest.mark.parametrize(("number", "place"), list(enumerate(PLACES)))
def test_a_place_leads_to_all_that_lies_in_it(
    reef: TestClient, number: int, place: tuple[str, str, tuple[tuple[str, str], ...]]
) -> None:
    """Each page of a place is there, names the place, and leads to the others in it."""
    name, address, parts = place
    for path in (address, *(part for _, part in parts)):
        page = reef.get(path)
        assert page.status_code == 200, page.text
        assert place_of(path) == number
        header = page.text[page.text.index("<header") : page.text.index("</header>")]
        (here,) = re.findall(r'aria-current="\w+">(.*?)</a>', header)
        assert name.split()[0] in here
        assert all(f'href="{part}"' in page.text for _, part in parts)


def test_a_touched_color_stays_in_hand(shoal: TestClient) -> None:
    """The header of every page shows the color that was asked last, and leads back to it."""
    assert "/color?wanted=" not in shoal.get("/kits").text
    shoal.get("/color?wanted=Kelp&range=Shoal")
    page = shoal.get("/kits").text
    assert 'href="/color?wanted=Kelp&amp;range=Shoal"' in page
    fill = re.findall(r'class="held".*?fill="(#\w+)"', page)
    assert fill == re.findall(
        r'aria-label="Wanted: .*?fill="(#\w+)"', shoal.get("/color?wanted=Kelp").text
    )


def test_what_was_chosen_last_is_meant_again(reef: TestClient) -> None:
    """A color is answered from the set that was chosen before, on any page that asks."""
    reef.get("/color?wanted=Kelp&from=range:Shoal")
    for page in ("/color", "/partners", "/charts", "/runs"):
        assert re.search('"range:Shoal"[^>]* selected', reef.get(page).text), page
    reef.get("/box?from=range:Reef")
    assert re.search('"range:Reef"[^>]* selected', reef.get("/charts").text)
    assert "Anemone" in reef.get("/box").text


@pytest.mark.parametrize("wanted", ["dusty pink", "C8A050", "vivid yellowish green"])
def test_a_color_is_wanted_in_words_or_in_six_digits(shoal: TestClient, wanted: str) -> None:
    """Neither needs a sign of its own."""
    page = shoal.get("/color", params={"wanted": wanted, "range": "Shoal"})
    assert page.status_code == 200, page.text
    assert "What to do" in page.text


def test_words_mean_the_color_that_is_called_so() -> None:
    """What the words lead to is called by them, in the system's words for what people say."""
    for said, name in (
        ("dusty pink", "grayish pink"),
        ("Vivid Red", "vivid red"),
        ("Grey", "medium gray"),
    ):
        lab = lab_of_words(said)
        assert lab is not None, said
        assert color_name(lab) == name
    assert lab_of_words("kelp") is None


def test_a_colorant_comes_before_the_words_for_a_color(shoal: TestClient) -> None:
    """Who has a marker called Pink means that marker."""
    rows = "range,medium,color,paper,coats,L,a,b\nSpit,marker,Pink,Gannet smooth,1,40,9,9\n"
    shoal.post("/swatches/import", files={"files": ("spit.csv", rows.encode(), "text/csv")})
    found = shoal.get("/color.json?wanted=pink&range=Shoal").json()
    assert ciede2000(np.array(found["target"]["lab"]), np.array([40.0, 9.0, 9.0])) < 0.5


def test_every_patch_can_be_taken_in_hand(reef: TestClient) -> None:
    """Patches on the pages of a box and of an answer are links that ask for their color."""
    box = reef.get("/box?range=Reef").text
    assert box.count('<a href="/color?wanted=Reef%2F') == 6
    answer = reef.get("/color?wanted=lab:50,55,30&range=Reef").text
    assert 'href="/color?wanted=lab:50.0,55.0,30.0"' in answer
    assert "Nearest that you don’t own" in answer


def test_a_search_finds_what_has_a_name_and_what_was_asked(reef: TestClient) -> None:
    """A marker, a set, and the color of words."""
    found = {(one["name"], one["kind"]) for one in reef.get("/find.json?q=ree").json()["found"]}
    assert ("Reef", "set") in found
    anemone = reef.get("/find.json?q=anemone").json()["found"][0]
    assert (anemone["name"], anemone["fill"][0]) == ("Reef/Anemone", "#")
    assert reef.get("/find.json?q=dusty pink").json()["found"][0]["address"].startswith("/color")
    assert "Nothing here is called" in reef.get("/find?q=xyzzy").text


def test_a_search_finds_the_colors_that_were_asked_before(reef: TestClient) -> None:
    """Each once, the last first, with its patch; a browser that asked nothing finds none."""
    assert reef.get("/find.json").json()["found"] == []
    for wanted in ("Slate", "dusty pink", "Slate"):
        reef.get("/color", params={"wanted": wanted, "range": "Reef"})
    found = reef.get("/find.json").json()["found"]
    assert [one["name"] for one in found] == ["Slate", "dusty pink"]
    page = reef.get("/find?q=usty pin")
    assert "asked before" in page.text
    assert f'fill="{found[1]["fill"]}"' in page.text


def test_undo_and_redo_stand_on_every_page(reef: TestClient) -> None:
    """What a form changed is undone and done again from any page."""
    reef.post("/kits", data={"name": "mine"})
    for page in ("/", "/box", "/color", "/lessons", "/find"):
        text = reef.get(page).text
        assert 'action="/history/undo"' in text
        assert 'action="/history/redo"' in text
    reef.post("/history/undo")
    assert reef.get("/kits.json").json()["kits"] == []
    assert "Undone: create the kit mine" in reef.get("/history").text
    reef.post("/history/redo")
    assert reef.get("/kits.json").json()["kits"][0]["name"] == "mine"
    assert reef.post("/history/redo").status_code == 422


def test_undo_says_what_it_takes_back(reef: TestClient, location: str) -> None:
    """What another changed last stays in the list; the button says one's own, and takes that."""
    for name in ("mine", "theirs"):
        reef.post("/kits", data={"name": name})
    with closing(sqlite3.connect(location, isolation_level=None)) as file:
        file.execute("update changes set who = 'ben' where label like '%theirs'")
    page = reef.get("/history").text
    assert "Latest: create the kit mine" in page
    assert "create the kit theirs" in page
    reef.post("/history/undo")
    assert [kit["name"] for kit in reef.get("/kits.json").json()["kits"]] == ["theirs"]


def test_a_list_is_split_on_lines_and_commas() -> None:
    """A comma within a color in numbers stays."""
    assert typed_of("Kelp, Dune,\nlab:71,8,46, #c8a050") == [
        "Kelp",
        "Dune",
        "lab:71,8,46",
        "#c8a050",
    ]


def test_what_a_color_makes_says_which_pairs_go_muddy(reef: TestClient) -> None:
    """A green over a red is muddy, a gray over a gray is not; each can be taken in hand."""
    found = reef.get("/over.json?color=Anemone&range=Reef&paper=Gannet smooth").json()
    muddy = {one["other"]["name"]: one["muddy"] for one in found["over"]}
    assert muddy["Weed"]
    assert len(muddy) == 5
    grays = reef.get("/over.json?color=Slate&range=Reef&paper=Gannet smooth").json()["over"]
    assert not {one["other"]["name"]: one["muddy"] for one in grays}["Foam"]
    assert "<small>muddy</small>" in reef.get("/over?color=Anemone&range=Reef").text


def test_a_grid_shows_each_over_each_and_what_goes_muddy(reef: TestClient) -> None:
    """Six colors lie over five others each; red and green lose chroma, grays lose none."""
    found = reef.get("/grid.json?from=range:Reef&paper=Gannet smooth").json()
    assert len(found["shades"]) == 6
    assert {len(row) for row in found["rows"]} == {5}
    page = reef.get("/grid?from=range:Reef").text
    muddy = page[page.index("These go muddy") : page.index("These shine")]
    assert "Weed" in muddy
    assert "Anemone" in muddy
    assert page.count("/lay?recipe=") >= 30
    assert len(page.encode()) < 60_000


def test_what_if_shows_a_pile_its_values_and_other_lights(reef: TestClient) -> None:
    """A pile tells its color, whether it is muddy, and how it is the other way round."""
    asked = {"recipe": "Reef/Anemone; Reef/Weed", "from": "range:Reef"}
    found = reef.get("/lay.json", params=asked | {"paper": "Gannet smooth", "range": "Reef"}).json()
    assert found["muddy"]
    assert found["turned_words"]
    assert len(found["lights"]) > 1
    page = reef.get("/lay", params=asked).text
    assert "It goes muddy" in page
    more = re.findall(r'href="(\S+)" aria-label="A coat more', page)
    assert len(more) == 2
    darker = reef.get(more[0].replace("&amp;", "&"))
    assert "2 coats" in darker.text
    assert reef.get("/lay?recipe=Nobody").status_code == 404


def test_a_fix_says_when_a_fresh_start_is_better(reef: TestClient) -> None:
    """Over a dark green no light gray can be had: start fresh; a second coat can still be laid."""
    hard = {"over": "Weed", "wanted": "Foam", "from": "range:Reef"}
    page = reef.get("/fix", params=hard).text
    assert re.search(r"<h1[^>]*>Start fresh</h1>", page)
    easy = {"over": "Foam", "wanted": "Foam*2", "from": "range:Reef"}
    assert re.search(r"<h1[^>]*>You can fix it</h1>", reef.get("/fix", params=easy).text)
    assert "What should it become?" in reef.get("/fix?over=Foam&from=range:Reef").text


def test_one_color_is_answered_out_of_each_box(reef: TestClient) -> None:
    """Boxes stand side by side and are asked for one by one; an empty one is left out."""
    for kit, name in (("Ana", "Anemone"), ("Ben", "Slate"), ("Cleo", "")):
        reef.post("/kits", data={"name": kit})
        if name:
            reef.post("/kit/own", data={"kit": kit, "pasted": name})
    reef.get("/kits")
    page = reef.get("/boxes?wanted=lab:50,50,30").text
    assert "Cleo" not in page
    ana, ben = re.findall(r'hx-get="([^"]+)" hx-trigger="load"', page)
    assert ben.endswith("box=Ben")
    first = reef.get(ana.replace("&amp;", "&")).text
    assert "1 coat Anemone" in first or "coats Anemone" in first
    assert "Ben" not in first
    told = reef.get("/boxes.json?wanted=lab:50,50,30").json()["boxes"]
    assert [(one["kit"], one["found"] is not None) for one in told] == [
        ("Ana", True),
        ("Ben", True),
    ]


def test_a_box_without_an_answer_says_why(reef: TestClient) -> None:
    """One whose colors are all on loan stands among the others, with that sentence."""
    for kit, name in (("Ana", "Anemone"), ("Ben", "Slate")):
        reef.post("/kits", data={"name": kit})
        reef.post("/kit/own", data={"kit": kit, "pasted": name})
    reef.post("/kit/mark", data={"kit": "Ben", "colorant": "Reef/Slate", "stock": "on loan"})
    (_, ben) = reef.get("/boxes.json?wanted=lab:50,50,30").json()["boxes"]
    assert ben["why_not"] == "All that is in Ben is used up or on loan."
    assert "used up or on loan" in reef.get("/boxes?wanted=lab:50,50,30&box=Ben").text


def test_twins_tell_what_a_set_would_add(reef: TestClient) -> None:
    """Two dark grays are as good as one; of another set what is far from all owned is new."""
    reef.post("/kits", data={"name": "mine"})
    reef.post("/kit/own", data={"kit": "mine", "range": "Shoal"})
    reef.post("/kit/own", data={"kit": "mine", "pasted": "Reef/Foam"})
    found = reef.get("/twins.json?kit=mine&paper=Gannet smooth").json()
    mine, other = found["sets"]
    assert (mine["name"], mine["twins"]) == ("mine", [])
    assert other["name"] == "Reef"
    assert "Anemone" in {one["name"] for one in other["new"]}
    assert "would be new to you" in reef.get("/twins?kit=mine").text


def test_an_empty_box_stands_in_nobodys_way(shoal: TestClient) -> None:
    """Who has just made a box sees the first page, and colors of the set that is swatched."""
    shoal.post("/kits", data={"name": "mine"})
    assert "Kelp" in shoal.get("/").text
    assert "Kelp" in shoal.get("/color").text
    assert shoal.get("/color?kit=mine").status_code == 200
    assert "None of it is swatched yet" in shoal.get("/box?kit=mine").text


def test_what_was_laid_is_touched_layer_by_layer(reef: TestClient) -> None:
    """A touch lays one more over what stands in the form, where a trial is noted and mud asked."""
    for page in ("/muddy", "/notebook/new"):
        assert f'<a href="{page}?recipe=Reef%2FSlate">' in reef.get(page).text
        over = reef.get(f"{page}?recipe=Foam").text
        assert f'<a href="{page}?recipe=Foam%3B+Reef%2FSlate">' in over


def test_an_empty_library_shows_the_way_to_begin(visit: TestClient) -> None:
    """Each page that needs swatches says what comes first, instead of failing."""
    for page in ("/box", "/color", "/grid", "/twins", "/lay", "/fix", "/muddy", "/notebook/new"):
        assert visit.get(page).status_code == 200, page
    for page in ("/box", "/color", "/grid", "/twins", "/lay"):
        assert '<a href="/">Begin' in visit.get(page).text.replace(' class="button"', ""), page
    assert '<svg class="glance"' in visit.get("/").text.partition('action="/begin"')[0]
