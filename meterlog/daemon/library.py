"""The procedures on offer: those shipped and those of the folder the daemon was given."""

from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine

from meterlog.bench import Bench
from meterlog.daemon.checked import MeterNotices
from meterlog.daemon.errors import Refusal
from meterlog.daemon.fit import warnings_before
from meterlog.procedure import Procedure, ProcedureError, load_procedure


@dataclass(frozen=True, slots=True)
class Library:
    """`folder` is the operator's own; of two files with one name the one there counts.

    The folder is looked through anew each time, so that a file that was just mended can be used at once.
    """

    shipped: tuple[Path, ...]
    folder: Path | None
    bench: Bench
    database: Engine

    @property
    def files(self) -> dict[str, Path]:
        """By their names, without the ending, in the order in which they are offered."""
        own = sorted(self.folder.glob("*.toml")) if self.folder else []
        return {path.stem: path for path in (*self.shipped, *own)}

    def entries(self) -> list[dict[str, object]]:
        """name, file, title, revision, unit, the problems of those that cannot be used, and warnings."""
        meters = MeterNotices(self.database, self.bench)
        return [self._entry(path, meters) for path in self.files.values()]

    def find(self, name: str) -> Procedure:
        """By the name of the file, without its ending, or by its path. Refusal: not there, or unusable."""
        path = self.files.get(name) or self._by_path(name)
        try:
            return load_procedure(path, self.bench.references)
        except ProcedureError as error:
            problems = tuple(str(problem) for problem in error.problems)
            what = f"The procedure file cannot be used: {'; '.join(problems)}."
            raise Refusal(422, what, "", "Mend it.", problems) from error

    def _by_path(self, name: str) -> Path:
        path = Path(name)
        if path.suffix == ".toml" and path.is_file():
            return path
        known = ", ".join(self.files) or "none"
        raise Refusal(422, f"There is no procedure {name!r}.", "procedure", f"Choose one of: {known}.")

    def _entry(self, path: Path, meters: MeterNotices) -> dict[str, object]:
        named: dict[str, object] = {"name": path.stem, "file": str(path)}
        try:
            procedure = load_procedure(path, self.bench.references)
        except ProcedureError as error:
            problems = [str(problem) for problem in error.problems]
            return named | {
                "title": path.stem,
                "revision": "",
                "unit": "",
                "problems": problems,
                "warnings": [],
            }
        known = warnings_before(self.bench, procedure, path.name)
        return named | {
            "title": procedure.title,
            "revision": procedure.revision,
            "unit": procedure.unit,
            "problems": [],
            "warnings": [*known, *meters.of(procedure)],
        }
