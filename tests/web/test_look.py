import numpy as np
import pytest
from starlette.testclient import TestClient

from laydown.color.screen import lab_from_hex
from laydown.color.value import value_from_lab
from laydown.web.look import Look, Surround, gray_of, read_look


@pytest.mark.parametrize("surround", list(Surround))
@pytest.mark.parametrize("values_only", [False, True])
def test_a_look_comes_back_from_its_cookie(surround: Surround, values_only: bool) -> None:
    """What was chosen is what is read."""
    look = Look(surround, values_only)
    assert read_look(look.text()) == look


@pytest.mark.parametrize("value", [1.5, 3.0, 5.0, 7.0, 9.0])
def test_a_gray_has_the_value_of_its_color(value: float) -> None:
    """The gray beside a color is neutral and of the same ASTM D1535 value."""
    lab = np.array([10 * value, 25.0, -20.0])
    gray = lab_from_hex(gray_of(lab))
    assert abs(value_from_lab(gray) - value_from_lab(lab)) < 0.05
    assert np.hypot(*gray[1:]) < 0.5


def test_the_look_is_kept_and_leads_back(shoal: TestClient) -> None:
    """Values only turns every patch gray, on the page where it was asked for."""
    page = "/color?wanted=lab:60,-10,20&range=Shoal"
    chosen = {"surround": "dim", "values_only": "true", "here": page}
    answer = shoal.post("/look", data=chosen)
    assert answer.headers["location"] == page
    text = shoal.get(page).text
    assert 'data-surround="dim"' in text
    fills = {part.split('"')[0] for part in text.split('fill="#')[1:]}
    assert all(fill[:2] == fill[2:4] == fill[4:] for fill in fills), fills


@pytest.mark.parametrize(
    ("address", "sent", "name"),
    [
        ("/look", {"surround": "dim"}, "look"),
        ("/kits", {"name": "other"}, "notice"),
        ("/begin", {"names": "Kelp", "paper": "Gannet smooth"}, "begun"),
    ],
)
def test_cookies_stay_out_of_reach_of_scripts_and_sites(
    shoal: TestClient, address: str, sent: dict[str, str], name: str
) -> None:
    """Each cookie that the bench sets is the browser's alone, and is sent to the bench alone."""
    cookies = shoal.post(address, data=sent).headers.get_list("set-cookie")
    assert name in [cookie.partition("=")[0] for cookie in cookies]
    for cookie in cookies:
        assert "HttpOnly" in cookie
        assert "SameSite=strict" in cookie
        assert "Domain" not in cookie


def test_a_notice_is_taken_away_as_it_was_set(shoal: TestClient) -> None:
    """Once shown, it goes with the flags it came with, so that browsers take it for the same."""
    shoal.post("/kits", data={"name": "other"})
    (cookie,) = shoal.get("/kits").headers.get_list("set-cookie")
    assert cookie.startswith('notice="";')
    assert "Max-Age=0" in cookie
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie


@pytest.mark.parametrize("here", ["http://elsewhere.example/", "//elsewhere.example", "/\\else"])
def test_no_look_leads_elsewhere(visit: TestClient, here: str) -> None:
    """The way back is always a page of this server."""
    assert visit.post("/look", data={"here": here}).headers["location"] == "/"
