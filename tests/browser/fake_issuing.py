"""The fake daemon's part that hands reports over."""

from collections.abc import Callable

from fastapi import FastAPI, Request, Response
from fastapi.responses import JSONResponse

from tests.browser.messages import BEGAN_NS, Json


def issued_report(session: int, count: int, asked: Json) -> Json:
    """What the record keeps of a report that was issued as the page asked for it."""
    return {
        "number": f"{session}-{count}",
        "session_id": session,
        "time_ns": BEGAN_NS,
        "kind": "sheet" if asked.get("sheet") else "report",
        "customer": asked.get("customer") or "A. Customer",
        "replaces": asked.get("replaces", ""),
        "because": asked.get("because", ""),
        "results_digest": "",
        "file_digest": "",
        "forms": ["html", "pdf"],
    }


class FakeIssuing:
    """`asked`: what the page sent; `issued`: of every session, as if there were only one."""

    def __init__(self) -> None:
        self.asked: list[Json] = []
        self.issued: list[Json] = []

    @property
    def standing(self) -> list[str]:
        replaced = {one["replaces"] for one in self.issued}
        return [one["number"] for one in self.issued if one["number"] not in replaced]

    def add_to(self, app: FastAPI, refusal: Callable[[Request], JSONResponse | None]) -> None:
        @app.post("/api/sessions/{session}/issue")
        async def issue(session: int, request: Request) -> Response:
            if answer := refusal(request):
                return answer
            self.asked.append(await request.json())
            self.issued.append(issued_report(session, len(self.issued) + 1, self.asked[-1]))
            return JSONResponse(self.issued[-1])
