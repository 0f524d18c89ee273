"""The fake daemon's part that says whether the meters are good enough."""

from fastapi import FastAPI, Response
from fastapi.responses import JSONResponse

from tests.browser.messages import Json


class FakeFit:
    """`rows`: of the procedure "tape"; `at`: the temperatures that were asked about; `refused`: an error."""

    def __init__(self) -> None:
        self.rows: list[Json] = []
        self.at: list[str] = []
        self.refused: Json | None = None

    def add_to(self, app: FastAPI) -> None:
        @app.get("/api/procedures/{name}/fit")
        def fit(name: str, temperature_c: str = "") -> Response:
            self.at.append(temperature_c)
            if self.refused:
                return JSONResponse({"error": self.refused}, 422)
            return JSONResponse(self.rows if name == "tape" else [])
