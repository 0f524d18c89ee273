"""The web application: the API, the page's files, and what guards both."""

from collections.abc import Awaitable, Callable
from pathlib import Path

from fastapi import FastAPI, Request, Response
from fastapi.staticfiles import StaticFiles

from meterlog.daemon.access import Access
from meterlog.daemon.context import Context
from meterlog.daemon.refusals import add_refusals
from meterlog.daemon.routes import batch, bench, checks, instruments, live, record, session
from meterlog.daemon.version import VERSION

_PAGE = Path(__file__).parent / "page"


def create_app(context: Context) -> FastAPI:
    """The application for one daemon. Its documentation is for programs: /api/openapi.json."""
    app = FastAPI(
        title="meterlog", version=VERSION, openapi_url="/api/openapi.json", docs_url=None, redoc_url=None
    )
    app.state.context = context
    add_refusals(app)
    for room in (bench, session, record, batch, checks, instruments, live):
        app.include_router(room.router)
    app.mount("/", StaticFiles(directory=_PAGE, html=True))
    app.middleware("http")(_policed(content_policy(context.bench.simulate_url)))
    app.add_middleware(Access, port=context.port, token=context.token)
    return app


def content_policy(simulate_url: str | None) -> str:
    """Nothing from elsewhere, nothing inline; only the simulated bench, where there is one, may be framed."""
    bench = simulate_url.rstrip("/") if simulate_url else ""
    rules = {
        "default-src": "'self'",
        "connect-src": f"'self' {bench}".strip(),
        "frame-src": bench or "'none'",
        "object-src": "'none'",
        "base-uri": "'none'",
        "form-action": "'self'",
        "frame-ancestors": "'none'",
    }
    return "; ".join(f"{rule} {sources}" for rule, sources in rules.items())


_Next = Callable[[Request], Awaitable[Response]]


def _policed(policy: str) -> Callable[[Request, _Next], Awaitable[Response]]:
    async def police(request: Request, call_next: _Next) -> Response:
        response = await call_next(request)
        response.headers.setdefault("Content-Security-Policy", policy)
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cache-Control"] = "no-store" if request.url.path.startswith("/api/") else "no-cache"
        return response

    return police
