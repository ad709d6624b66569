"""What can be asked about its light: what was made of colors before, and how one gets there."""

import io
import re
from collections.abc import Callable

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from laydown.app.pictures.plans import PictureFile, planned, write_plan
from laydown.plan.picture.picture import PlanRules

Started = Callable[..., int]


@pytest.fixture
def checked(shoal: TestClient, started: Started) -> Started:
    """Give a function that asks for a check of colors from Shoal, and waits for it."""
    return lambda **fields: started("/light/check", **{"range": "Shoal", "light": "A", **fields})


@pytest.fixture
def plan() -> bytes:
    """Return the plan of a picture of three stripes."""
    pixels = np.full((80, 120, 3), 230, np.uint8)
    pixels[:, 40:80] = (150, 130, 60)
    pixels[:, 80:] = (40, 50, 90)
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG")
    asked = PictureFile(content.getvalue(), "stripes.png", "", PlanRules(steps=3, width=120.0))
    return write_plan(planned(None, asked))


def test_the_colors_of_a_picture_are_asked_about(
    shoal: TestClient, checked: Started, plan: bytes
) -> None:
    """A plan that is kept is checked as the lesson of it, and so is its file: all estimated."""
    shoal.post("/pictures/open", files={"file": ("stripes.plan", plan)})
    assert '<option value="1" selected>' in shoal.get("/light?plan=1").text
    found = []
    for job in (checked(plan="1"), checked(files={"file": ("stripes.plan", plan)})):
        found.append(shoal.get(f"/light/checked.json?job={job}").json()["colors"])
    assert len(found[0]) == 3
    assert [color["best"]["prediction"]["recipe"] for color in found[0]] == [
        color["best"]["prediction"]["recipe"] for color in found[1]
    ]
    assert all("screen" in color["estimated"][0] for color in found[0])


def test_the_colors_of_a_chart_are_asked_again(
    shoal: TestClient, started: Started, checked: Started
) -> None:
    """A chart of a range and of typed colors is checked as it is, with its own supplies."""
    chart = started("/charts", range="Shoal", colors_of="Shoal", pasted="5Y 5/4")
    form = shoal.get(f"/light?chart={chart}").text
    assert f'<option value="{chart}" selected>' in form
    assert re.search('<option value="range:Shoal"[^>]* selected>', form)
    number = checked(chart=str(chart))
    found = shoal.get(f"/light/checked.json?job={number}").json()
    names = [color["target"]["name"] for color in found["colors"]]
    assert names == ["5Y 5/4", "Shoal/Dune", "Shoal/Kelp", "Shoal/Net", "Shoal/Skiff"]


def test_the_colors_of_a_lesson_are_asked_about(shoal: TestClient, checked: Started) -> None:
    """A lesson that is kept is checked under its own title, with its passages."""
    text = "laydown lesson 1\ntitle: Weeds\npassage: weeds\ncolor: wrack\nxyz: 30 33 50\n"
    kept = shoal.post("/lessons", data={"pasted": text})
    number = int(kept.headers["location"].rpartition("=")[2])
    assert f'<option value="{number}" selected>Weeds' in shoal.get(f"/light?lesson={number}").text
    job = checked(lesson=str(number))
    page = shoal.get(f"/light/checked?job={job}").text
    assert "Weeds, under other lights" in page
    assert "wrack: " in page


def test_other_pages_lead_here_with_what_was_asked_there(
    shoal: TestClient, started: Started
) -> None:
    """A color keeps its supplies on the way; a chart leads on with its number."""
    asked = "wanted=lab:60,-10,20&range=Shoal&steps=1"
    assert f'href="/light?{asked.replace("&", "&amp;")}"' in shoal.get(f"/color?{asked}").text
    form = shoal.get(f"/light/wall?{asked}").text
    assert ">lab:60,-10,20</textarea>" in form
    assert '<option value="1" selected>' in form
    chart = started("/charts", range="Shoal", pasted="Kelp")
    assert f'href="/light?chart={chart}"' in shoal.get(f"/chart?job={chart}").text
