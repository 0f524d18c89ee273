"""Every error of the API in one shape: {"error": {"what", "where", "do"}}, whatever part it comes from."""

import logging
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from meterlog.daemon.errors import Refusal
from meterlog.errors import MeterlogError
from meterlog.files.wording import in_words
from meterlog.records import NotStored
from meterlog.report import NotIssued, ReportError

_log = logging.getLogger(__name__)
_MANUAL = "Look at /api/openapi.json for what there is."
_STATUS: tuple[tuple[type[MeterlogError], int], ...] = (
    (NotStored, 503),
    (NotIssued, 404),
    (ReportError, 422),
)


_WORDED_FOR_FILES = ("model_", "dict_", "list_", "tuple_", "too_short")


def add_refusals(app: FastAPI) -> None:
    app.add_exception_handler(MeterlogError, _own)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(HTTPException, _plain)
    app.add_exception_handler(Exception, _fault)


def refusal_of(error: MeterlogError) -> Refusal:
    if isinstance(error, Refusal):
        return error
    status = next((status for kind, status in _STATUS if isinstance(error, kind)), 500)
    return Refusal(status, str(error))


def _answer(refusal: Refusal) -> JSONResponse:
    return JSONResponse(refusal.body, refusal.status)


async def _own(_request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, MeterlogError)
    return _answer(refusal_of(error))


async def _invalid(_request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    problems = tuple(f"{'.'.join(map(str, item['loc']))}: {_words(item)}" for item in error.errors())
    return _answer(Refusal(422, "The request cannot be read.", "; ".join(problems), _MANUAL, problems))


def _words(item: Any) -> str:
    """As of a file, but for what speaks of its brackets."""
    kind, said = str(item["type"]), str(item["msg"])
    return said if kind.startswith(_WORDED_FOR_FILES) else in_words(item, "")


async def _plain(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    refusal = Refusal(error.status_code, f"{error.detail}.", request.url.path, _MANUAL)
    return JSONResponse(refusal.body, refusal.status, headers=error.headers)


async def _fault(request: Request, error: Exception) -> JSONResponse:
    _log.error("a request failed by a fault of the program", exc_info=error)
    what = f"A fault of the program: {type(error).__name__}."
    return _answer(Refusal(500, what, request.url.path, "Look at the daemon's output and report it."))
