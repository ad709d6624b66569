"""The pages of long work."""

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from laydown.app.encoding import to_json
from laydown.app.fits import Supplies
from laydown.app.jobs import Jobs, State
from laydown.app.library import Library
from laydown.app.matches.colors import Asking, MakeChart, make_chart
from laydown.store.records import Job

Over = Callable[[int], Job]

SHORT = MakeChart(title="Two colors", colors=("Kelp",), asking=Asking(Supplies(ranges=("Shoal",))))
WRONG = MakeChart(title="Misspelled", colors=("Klep",), asking=SHORT.asking)


def finish(jobs: Jobs, over: Over, request: MakeChart) -> int:
    """Run a job to its end and return its number."""
    job = jobs.start("make_chart", request, title=request.title, started_by="desk")
    return over(job.id).id


def test_a_kept_result_has_the_bytes_of_the_command_line(
    shoal: TestClient, jobs: Jobs, over: Over, library: Library
) -> None:
    """What a job found is what the task gives when it is called directly."""
    number = finish(jobs, over, SHORT)
    found = shoal.get("/job/result.json", params={"number": number})
    assert found.status_code == 200
    assert found.text == to_json(make_chart(library, SHORT)) + "\n"


def test_a_job_has_a_page_that_says_how_it_stands(
    shoal: TestClient, jobs: Jobs, over: Over
) -> None:
    """Done, it leads to what was found; the list names it."""
    number = finish(jobs, over, SHORT)
    page = shoal.get("/job", params={"number": number})
    assert "Two colors: finished." in page.text
    assert f'href="/chart?job={number}"' in page.text
    assert "Two colors" in shoal.get("/jobs").text
    assert shoal.get("/jobs.json").json()["jobs"][0]["state"] == "done"


def test_a_failed_job_is_a_sentence_and_a_way_on(shoal: TestClient, jobs: Jobs, over: Over) -> None:
    """Its page says why, and how to go on."""
    number = finish(jobs, over, WRONG)
    page = shoal.get("/job", params={"number": number}).text
    assert "There is no colorant “Klep” here." in page
    assert "Run again" in page


def test_forms_run_again_and_put_away(shoal: TestClient, jobs: Jobs, over: Over) -> None:
    """Each leads on to a page that says what came of it."""
    number = finish(jobs, over, SHORT)
    again = shoal.post("/job/again", data={"number": number})
    assert (again.status_code, again.headers["location"]) == (303, f"/job?number={number + 1}")
    gone = shoal.post("/job/remove", data={"number": number})
    assert (gone.status_code, gone.headers["location"]) == (303, "/jobs")
    assert shoal.get("/job", params={"number": number}).status_code == 404


def test_a_form_stops_a_job(shoal: TestClient, jobs: Jobs, over: Over) -> None:
    """One that waits behind another never begins."""
    for _ in range(3):
        last = jobs.start("make_chart", SHORT, title="Many")
    shoal.post("/job/cancel", data={"number": last.id})
    assert over(last.id).state in {State.CANCELLED, State.DONE}


@pytest.mark.parametrize("path", ["/job", "/job.json", "/job/result.json"])
@pytest.mark.parametrize("number", ["0", "7", "9" * 30, "x", ""])
def test_a_number_that_no_job_has_is_an_error_in_words(
    visit: TestClient, path: str, number: str
) -> None:
    """It is never a fault of the server."""
    assert visit.get(path, params={"number": number}).status_code in {404, 422}
