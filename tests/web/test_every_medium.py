"""Every page with recipes, of every medium, with all that a recipe may hold."""

import html
from collections.abc import Callable
from types import MappingProxyType

import pytest
from starlette.testclient import TestClient

from laydown.app.pictures.plans import PictureFile, planned, write_plan
from laydown.demo.lemons import draw_lemons, lemons_png
from laydown.plan.picture.picture import PlanRules

pytestmark = pytest.mark.long

PAPER = "Gannet smooth"
SWATCHES = f"""\
range,medium,color,paper,blender,over,L,a,b
Cove,marker,,{PAPER},,,95,0.5,-2
Cove,marker,Dune,{PAPER},,,82,3,22
Cove,marker,Rinse,{PAPER},yes,Dune,84,2,20
Meadow,pencil,Root,{PAPER},,,42,4,12
Pond,wash,Reed,{PAPER},,,78,-4,40
Pond,wash,Silt,{PAPER},,,45,3,10
Pond,wash,Lily,{PAPER},,,70,30,5
"""
"""Invented markers with a blender, a pencil and washes on one paper."""
KITS = MappingProxyType(
    {
        "washes": (["Pond"], "mix 1 Reed + 2 Silt", "mix 3 Reed + 1 Silt"),
        "markers and pencils": (
            ["Cove", "Meadow"],
            "Dune; Rinse; Root (light); solvent by brush; burnish by stump",
            "Root",
        ),
    }
)
"""The ranges of each kit, what lies on the paper already, and a color wanted."""
SAID = MappingProxyType(
    {
        "mix 1 Reed + 2 Silt": "1 wash of 1 part Reed and 2 parts Silt",
        "Dune; Rinse; Root (light); solvent by brush; burnish by stump": "1 coat Dune, then 1 coat "
        "Rinse, then 1 light layer Root, then solvent by brush, then burnish by stump",
    }
)
"""The same in words."""


def _plan() -> bytes:
    picture = lemons_png(draw_lemons(rows=60, columns=90))
    rules = PlanRules(steps=2, colors=2)
    return write_plan(planned(None, PictureFile(picture, "lemons.png", rules=rules)))


@pytest.mark.parametrize("kit", KITS)
def test_every_page_shows_what_was_laid(
    visit: TestClient, started: Callable[..., int], kit: str
) -> None:
    """Colors, charts, lessons, packs, lights, walls, pictures and purchases are all answered."""
    ranges, over, wanted = KITS[kit]
    visit.post("/swatches/import", files={"files": ("s.csv", SWATCHES.encode(), "text/csv")})
    visit.post("/light/rate", data={"grade": "3", "range": ["Cove", "Meadow", "Pond"]})
    asked = {"range": ranges, "paper": PAPER, "over": over, "steps": "1", "coats": "1"}
    colors = {"color": wanted, "passage": "jar", "title": "Jar", "paper": PAPER}
    assert visit.post("/lesson/from-list", data=colors).status_code == 303
    kept = visit.post("/pictures/open", files={"file": ("lemons.plan", _plan())})
    number = kept.headers["location"].rpartition("=")[2]
    light = {"lux": "100-200", "glass": "filter"}
    pasted = {"pasted": wanted}
    pages = {
        "/chart": ("/charts", asked | pasted),
        "/lesson/conversion": ("/lesson/convert", asked | {"number": "1", "turns": "1"}),
        "/lesson/packed": ("/lesson/pack", asked | {"number": "1"}),
        "/light/checked": ("/light/check", asked | pasted | {"light": "A"}),
        "/light/lasting": ("/light/wall", asked | pasted | light),
        "/picture/recipes": ("/picture/recipes", asked | {"number": number}),
    }
    for page, (form, fields) in pages.items():
        shown = visit.get(f"{page}?job={started(form, **fields)}")
        assert shown.status_code == 200
        assert SAID[over] in html.unescape(shown.text), page
    matched = visit.get("/color", params=asked | {"wanted": wanted})
    assert SAID[over] in html.unescape(matched.text)


@pytest.mark.parametrize("recipe", [over for _, over, _ in KITS.values()])
def test_the_notebook_shows_what_was_laid(visit: TestClient, recipe: str) -> None:
    """A trial is listed and shown with all that it was laid with."""
    visit.post("/swatches/import", files={"files": ("s.csv", SWATCHES.encode(), "text/csv")})
    trial = {"recipe": recipe, "color": "lab:50,5,10", "wanted": "lab:52,3,10", "paper": PAPER}
    assert visit.post("/notebook", data=trial).status_code == 303
    for page in ("/notebook", "/trial?number=1"):
        shown = visit.get(page)
        assert shown.status_code == 200
        assert SAID[recipe] in html.unescape(shown.text), page
