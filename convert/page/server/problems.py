"""The one shape in which the page says what went wrong: problem, remedy, code."""

import sys
import traceback
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from calibration.ground.errors import InputError, OutputError, OwnblockError, WordsError


class Problem(BaseModel):
    """What every answer with a status of 400 or more holds."""

    problem: str
    remedy: str
    code: str


class PageError(OwnblockError):
    """A problem of the page itself, with its HTTP status and a short stable code."""

    def __init__(self, status: int, code: str, problem: str, remedy: str) -> None:
        super().__init__(problem, remedy)
        self.status = status
        self.code = code


def missing(what: str) -> PageError:
    """Something asked for that is not there (any more)."""
    return PageError(404, "missing", f"There is no such {what}.", "Load the page again: it may have been taken out.")


_KINDS: tuple[tuple[type[OwnblockError], int, str], ...] = (
    (WordsError, 422, "words"),
    (InputError, 422, "input"),
    (OutputError, 409, "output"),
)
_HTTP: dict[int, tuple[str, str, str]] = {
    404: ("missing", "There is nothing at this address.", "Go back to the list of jobs."),
    405: ("method", "That can't be done at this address.", "Load the page again."),
    413: ("too-big", "That is too much to send at once.", "Send less."),
}


def problem_of(error: OwnblockError) -> tuple[int, Problem]:
    """Status and shape of an error of ours."""
    if isinstance(error, PageError):
        return error.status, Problem(problem=error.problem, remedy=error.remedy, code=error.code)
    status, code = next(((status, code) for kind, status, code in _KINDS if isinstance(error, kind)), (422, "input"))
    return status, Problem(problem=error.problem, remedy=error.remedy, code=code)


def answer(status: int, problem: Problem) -> Response:
    """The answer that says it."""
    return JSONResponse(problem.model_dump(), status_code=status)


def fault(error: BaseException) -> tuple[int, Problem]:
    """A fault of ours: the traceback goes to the window in which ownblock runs, never to a maker."""
    traceback.print_exception(error, file=sys.stderr)
    return 500, Problem(
        problem=f"This is a fault of ownblock, not yours ({type(error).__name__}).",
        remedy="Nothing is lost: load the page again. The window where ownblock was started says more.",
        code="fault",
    )


def handle_problems(app: FastAPI) -> None:
    """Every error of an application answered in the one shape."""

    async def ours(request: Request, error: Any) -> Response:
        return answer(*problem_of(error))

    async def unfit(request: Request, error: Any) -> Response:
        first = error.errors()[0]
        where = " ".join(str(part) for part in first["loc"] if part != "body")
        said = f"What was sent can't be used{f' ({where})' if where else ''}: {first['msg']}."
        return answer(422, Problem(problem=said, remedy="Load the page again and repeat the change.", code="request"))

    async def http(request: Request, error: Any) -> Response:
        code, problem, remedy = _HTTP.get(
            error.status_code, ("request", "What was sent can't be understood.", "Load the page again.")
        )
        return answer(error.status_code, Problem(problem=problem, remedy=remedy, code=code))

    async def bug(request: Request, error: Exception) -> Response:
        return answer(*fault(error))

    app.add_exception_handler(OwnblockError, ours)
    app.add_exception_handler(RequestValidationError, unfit)
    app.add_exception_handler(HTTPException, http)
    app.add_exception_handler(Exception, bug)
