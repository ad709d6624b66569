"""A target in a sketchbook on the bench: printed, read, its patches named in a form, once."""

import io
import time
from types import ModuleType

from PIL import Image
from starlette.testclient import TestClient

from laydown.demo.photograph import Camera, View

PATIENCE = 900.0
"""A job that takes longer is stuck [s]."""


def over(visit: TestClient, job: int) -> str:
    """Wait for a job to be over, and return how it ended."""
    until = time.monotonic() + PATIENCE
    while not (found := visit.get(f"/job.json?number={job}").json())["ended"]:
        assert time.monotonic() < until
        time.sleep(0.05)
    return str(found["state"])


def test_each_patch_is_shown_and_named_once(visit: TestClient, photos: ModuleType) -> None:
    """The form has a field for each patch; what is named is kept, and known the next time."""
    made = visit.post("/sheets.json", data={"kind": "target", "paper": "Sketchbook"}).json()
    number = made["number"]
    assert visit.get(f"/sheet/file?number={number}").content.startswith(b"%PDF")
    assert "Photograph" in visit.get(f"/sheet?number={number}").text
    view = View(megapixels=4, tilt=8, toward=40, fill=0.9)
    taken = photos.take_target(number, view=view, camera=Camera(photos.colorimetric()))
    content = io.BytesIO()
    Image.fromarray(taken.pixels).save(content, "PNG")
    sent = {"files": [("files", ("page.png", content.getvalue()))]}
    job = visit.post("/sheet/read.json", **sent).json()["id"]
    assert over(visit, job) == "done"
    page = visit.get(f"/sheet/reading?job={job}").text
    assert page.count('name="names"') == len(taken.boxes)
    names = [f"Tint {place}" for place in range(len(taken.boxes) - 1)]
    said = {"job": str(job), "names": [*names, ""], "add_to": "Tints"}
    kept = visit.post("/sheet/settle.json", data=said).json()["id"]
    assert over(visit, kept) == "done"
    assert "12 cells were taken over." in visit.get(f"/sheet/reading?job={kept}").text
    again = visit.post("/sheet/read.json", **sent).json()["id"]
    assert over(visit, again) == "done"
    page = visit.get(f"/sheet/reading?job={again}").text
    assert 'name="names"' not in page
    assert "Tint 11" in page
