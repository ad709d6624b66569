"""Marks of pans at the bench."""

from starlette.testclient import TestClient

POND = b"""\
range,medium,color,paper,L,a,b
Pond,wash,,Gannet smooth,95,0.5,-2
Pond,wash,Silt,Gannet smooth,45,3,10
Pond,wash,,Heron laid,93,0.5,2
"""


def test_a_pan_is_marked_on_the_page_of_its_range(visit: TestClient) -> None:
    """The form leads back to the range on the same paper, where the marks stand."""
    visit.post("/swatches/import", files={"files": ("pond.csv", POND, "text/csv")})
    page = visit.get("/range?name=Pond&paper=Gannet smooth").text
    assert 'action="/range/mark"' in page
    sent = {"pan": "Pond/Silt", "paper": "Gannet smooth", "mark": ["opaque", "", "granulating"]}
    led = visit.post("/range/mark", data=sent)
    assert led.is_redirect
    page = visit.get(led.headers["location"]).text
    assert "<h1>Pond on Gannet smooth</h1>" in page
    assert "<strong>Silt</strong>: opaque, granulating" in page
    told = visit.post("/range/mark.json", data={"pan": "Pond/Silt", "mark": [""]}).json()
    assert told["marks"] == []


def test_a_range_of_markers_has_nothing_to_mark(shoal: TestClient) -> None:
    """Only pans are marked, so the form stands with them alone."""
    assert "/range/mark" not in shoal.get("/range?name=Shoal").text
