"""The application: what it answers, put together from one file per step.

Addresses (JSON unless said; ``J`` a job, ``N`` a piece, ``P`` a picture, ``W`` a work, ``F`` a file: ids of our own)

===========================================  ==========================================================================
``GET /api/jobs``                            jobs, the one changed last first
``POST /api/jobs``                           begin one, or a copy of the demo
``POST /api/stop``                           end the program
``GET, PATCH /api/jobs/J``                   the whole state; title, grid, unit
``PUT /api/jobs/J/place``                    where the maker is and what she called right
``GET /api/jobs/J/events``                   news as server-sent events
``DELETE /api/jobs/J/work/W``                stop a work
``POST /api/jobs/J/pictures``                bring in a picture (raw body, X-File-Name)
``DELETE .../pictures/P``, ``GET .../image`` take it out; see it upright
``POST .../pieces``, ``PATCH, DELETE .../N`` which piece some pictures show
``POST .../pieces/N/read``                   read it
``POST .../undo-removal``                    what was taken out last comes back
``GET .../pieces/N/choices``                 the pieces or sizes that can be pointed at
``GET, PUT .../pieces/N/mat``                the lattice over each picture; grid and crossings told
``GET .../pieces/N/sheet``, ``/sheet.jpg``   the flat picture's frame; the flat picture
``GET .../pieces/N/piece``, ``PUT /told``    the piece as read; anything told of it; ``DELETE /told`` takes it back
``GET .../pieces/N/title``                   what its print calls it
``POST .../pieces/N/snap``                   the paper's edge nearest to some points
``GET /api/measures``                        what can be measured, how, with drawings
``GET, PUT /api/jobs/J/maker``               the card; ``POST .../answers`` to what was asked about it
``PUT /api/jobs/J/pattern``                  the size the pattern was drafted for
``GET /api/jobs/J/compare``                  pattern beside maker
``GET, PUT /api/jobs/J/block``               the block: moves, checks; amounts, ease, darts; ``POST /try`` keeps nothing
``GET /api/jobs/J/sheets``                   the sheets as small pictures
``GET, POST /api/jobs/J/files``, ``/F``      files made, make them; download one
``GET, POST /api/jobs/J/toile``              fittings; ``GET .../say``, ``POST .../undo``, ``.../redo``
===========================================  ==========================================================================

Every state carries ``revision``; every change names the one it was made on in ``If-Match`` (409 if it is not the last
any more). Every answer of 400 or more is ``{"problem", "remedy", "code"}``. Geometry is mm, y up, in the mat's frame
unless said; lengths that a maker types are sent as typed.
"""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import FastAPI

from convert.page.desk.desk import new_desk
from convert.page.desk.jobs import Shelf
from convert.page.desk.work import Workers
from convert.page.server import static_files
from convert.page.server.openings import Openings
from convert.page.server.problems import Problem, handle_problems
from convert.page.server.safety import Guard
from convert.page.steps import block as step_block
from convert.page.steps import compare as step_compare
from convert.page.steps import jobs as step_jobs
from convert.page.steps import maker as step_maker
from convert.page.steps import mat as step_mat
from convert.page.steps import paper as step_paper
from convert.page.steps import pictures as step_pictures
from convert.page.steps import piece as step_piece
from convert.page.steps import toile as step_toile

_ROUTERS = tuple(
    step.router
    for step in (
        step_jobs,
        step_pictures,
        step_mat,
        step_piece,
        step_maker,
        step_compare,
        step_block,
        step_paper,
        step_toile,
    )
)


def create_app(
    home: Path,
    *,
    token: str,
    port: int,
    new_in: Path | None = None,
    workers: Workers | None = None,
    openings: Openings | None = None,
    stop: Callable[[], None] | None = None,
) -> FastAPI:
    """The application for the jobs below a folder.

    Parameters
    ----------
    home
        A folder of job folders, or a job folder.
    token
        Known to whoever started it, and to nobody else.
    port
        Where it is reached on this machine; no other name for it is answered.
    new_in
        Where new jobs are begun; by default ``home``.
    workers
        Who does the heavy work; by default two processes, begun with the application and ended with it.
    openings
        The names by which the page may be opened; none by default.
    stop
        Ends the program, for a button; there is no such button by default.
    """
    own = workers or Workers()
    desk = new_desk(Shelf(home, new_in=new_in), own)

    @asynccontextmanager
    async def alive(_app: FastAPI) -> AsyncIterator[None]:
        own.start()
        yield
        desk.news.end()
        if workers is None:
            own.close()

    app = FastAPI(
        title="ownblock",
        version="1",
        lifespan=alive,
        docs_url=None,
        redoc_url=None,
        responses={"4XX": {"model": Problem, "description": "What is wrong, and what to do."}},
    )
    app.state.desk = desk
    app.state.stop = stop
    handle_problems(app)
    app.include_router(step_jobs.program)
    for router in _ROUTERS:
        app.include_router(router)
    app.include_router(static_files.router)
    app.add_middleware(Guard, token=token, port=port, openings=openings or Openings())
    return app
