"""Put the bench together: the pages, the guard before them, and the boundary behind them."""

from importlib.resources import files

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

import laydown
from laydown.web.desk import Desk
from laydown.web.errors import catch_errors
from laydown.web.files import BoundedBody, paths_with_files
from laydown.web.guard import Guard
from laydown.web.own_browser import OwnBrowser
from laydown.web.pages import PAGES
from laydown.web.phone import PhoneDoor


def create_application(desk: Desk) -> FastAPI:
    """Make the application of one desk.

    Parameters
    ----------
    desk
        The open library, and the names of this server.
    """
    application = FastAPI(
        title="laydown", version=laydown.__version__, docs_url=None, redoc_url=None
    )
    application.state.desk = desk
    application.mount("/static", StaticFiles(directory=str(files("laydown.web") / "static")))
    fonts = files("laydown.documents") / "fonts"  # those that printed pages are set in
    application.mount("/fonts", StaticFiles(directory=str(fonts)))
    for router in PAGES:  # as they are: FastAPI's own way would read all their fields once more
        application.router.routes += router.routes
    catch_errors(application)
    application.add_middleware(BoundedBody, with_files=paths_with_files(PAGES))
    first = "/" if desk.phone is None else "/phone"
    application.add_middleware(OwnBrowser, keys=desk.keys, first=first)
    hosts = desk.hosts
    if desk.phone is not None:
        application.add_middleware(PhoneDoor, phone=desk.phone)
        hosts |= {desk.phone.host}
    application.add_middleware(Guard, hosts=hosts)
    return application
