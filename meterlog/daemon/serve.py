"""The daemon as a process: everything opened in order, run, and closed in the opposite order."""

import asyncio
import logging
import os
import signal
import socket
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy
import uvicorn

from meterlog.bench import (
    Bench,
    Clock,
    DrivenSource,
    OpenBench,
    SystemClock,
    check_drivers,
    load_bench,
    load_source_driver,
)
from meterlog.daemon.access import new_token
from meterlog.daemon.app import create_app
from meterlog.daemon.contact import Contact, published
from meterlog.daemon.context import Context
from meterlog.daemon.errors import DaemonError
from meterlog.daemon.hub import Hub
from meterlog.daemon.library import Library
from meterlog.daemon.press import Press
from meterlog.daemon.session_runner import SessionRunner
from meterlog.daemon.sessions import Sessions
from meterlog.daemon.source_keeper import SourceKeeper
from meterlog.records import DataFolder, NotStored, Writer
from meterlog.records.engine import database_file
from meterlog.report.batch_file import Batch, load_batch
from meterlog.shipped import shipped

LOOPBACK = ("127.0.0.1", "::1", "localhost")
PORT = 8517
_PAGES_S = 3
_LARGEST_MESSAGE = 16 * 1024
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Options:
    """`data` None: the operating system's place for it. `port` 0: any free one. `procedures`: a folder.
    `batch`: the file of a batch of units."""

    bench: Path
    data: Path | None = None
    procedures: Path | None = None
    host: str = "127.0.0.1"
    port: int = PORT
    batch: Path | None = None


def serve(options: Options) -> None:
    """Run until SIGTERM or SIGINT. DaemonError, BenchError, RecordsError: it cannot start, or has failed."""
    folder = DataFolder(options.data)
    bench = load_bench(options.bench)
    check_drivers(bench, options.bench)
    with ExitStack() as stack:
        listening = stack.enter_context(closing(_listen(options.host, options.port)))
        stack.enter_context(folder.hold())
        database = folder.open_checked()
        library = _library(options, bench, database)
        batch = load_batch(options.batch) if options.batch else None
        if batch is not None:
            library.find(batch.procedure)  # now, not when the first unit lies on the bench
        daemon = Daemon(
            folder.path, bench, database, library, listening, batch=batch, bench_file=options.bench.absolute()
        )
        stack.enter_context(daemon.ended_by_signals())
        stack.enter_context(daemon.at_work())
        stack.enter_context(published(folder.path, daemon.contact))
        _log.info("%s: bench %r, data in %s", daemon.contact.url, bench.name, folder.path)
        daemon.run()


def _library(options: Options, bench: Bench, database: sqlalchemy.Engine) -> Library:
    return Library(tuple(shipped("procedures")), options.procedures, bench, database)


def _listen(host: str, port: int) -> socket.socket:
    if host not in LOOPBACK:
        raise DaemonError(
            f"--host {host}: the daemon answers on this machine only; write one of {', '.join(LOOPBACK)}, "
            "and reach it from another machine through an SSH tunnel"
        )
    family = socket.AF_INET6 if host == "::1" else socket.AF_INET
    listening = socket.socket(family)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        listening.listen()  # from now on nobody is turned away, only kept waiting
    except OSError as error:
        listening.close()
        raise DaemonError(
            f"port {port} cannot be used: {error.strerror}; choose another one with --port"
        ) from error
    return listening


class Daemon:
    """The parts of a running daemon, put together."""

    def __init__(
        self,
        folder: Path,
        bench: Bench,
        database: sqlalchemy.Engine,
        library: Library,
        listening: socket.socket,
        *,
        batch: Batch | None = None,
        bench_file: Path | None = None,
    ) -> None:
        clock = SystemClock()
        self._writer = Writer(database)
        self._hub = Hub()
        self._listening = listening
        self.failed = False
        self._runner = SessionRunner(
            bench=bench, writer=self._writer, clock=clock, hub=self._hub, failed=self._fail
        )
        self._links = OpenBench(bench, clock, self._runner.deliver, self._runner.deliver)
        self._source = _source_keeper(bench, clock, self._runner)
        port = listening.getsockname()[1]
        self.contact = Contact(_url(listening), new_token(), os.getpid())
        self._context = Context(
            data_folder=folder,
            port=port,
            token=self.contact.token,
            database=database,
            bench=bench,
            open_bench=self._links,
            library=library,
            sessions=Sessions(database, self._writer, bench, clock),
            runner=self._runner,
            hub=self._hub,
            press=Press(database_file(database)),
            batch=batch,
            bench_file=bench_file,
        )
        self._server = _Server(create_app(self._context), before_waiting=self._store_and_part)

    @contextmanager
    def ended_by_signals(self) -> Iterator[None]:
        """Whenever a signal comes: also before the server listens to signals, and again when it hands on the
        one that ended it, by when everything still has to be closed.
        """
        kinds = (signal.SIGINT, signal.SIGTERM)
        before = [signal.signal(kind, self._end) for kind in kinds]
        try:
            yield
        finally:
            for kind, handler in zip(kinds, before, strict=True):
                signal.signal(kind, handler)

    @contextmanager
    def at_work(self) -> Iterator[None]:
        """Session, links and writer from the first to the last reading."""
        self._resume()
        self._runner.start(self._source, self._links.take_other)
        self._links.start()
        if self._source is not None:
            self._source.start()
        try:
            yield
        finally:
            self._links.stop()
            if self._source is not None:
                self._source.stop()
            self._store_and_part()
            self._writer.close()

    def run(self) -> None:
        """Answer requests until told to end. DaemonError: a part has failed."""
        self._server.run(sockets=[self._listening])
        if self.failed:
            raise DaemonError("the daemon ended by a fault of the program; its output above says more")

    def _resume(self) -> None:
        try:
            running = self._context.sessions.resume()
        except DaemonError as error:
            self._runner.announcer.alarm(str(error), lasting=True)
            return
        if running is not None:
            self._runner.take_up(running)

    def _store_and_part(self) -> None:
        """What is known is on the disk before anybody waits for a page that is slow to go."""
        self._context.search.stop()
        self._context.press.stop()
        self._runner.stop()
        try:
            self._writer.flush()
        except NotStored as error:
            _log.error("%s", error)
        self._hub.close()

    def _end(self, *_: object) -> None:
        self._server.should_exit = True

    def _fail(self) -> None:
        self.failed = True
        self._end()


def _source_keeper(bench: Bench, clock: Clock, runner: SessionRunner) -> SourceKeeper | None:
    """None where the bench has no source that can be driven."""
    if bench.source is None:
        return None
    driven = DrivenSource(bench.source, load_source_driver(bench.source.driver), clock)
    return SourceKeeper(driven, runner.deliver)


class _Server(uvicorn.Server):
    def __init__(self, app: object, before_waiting: Callable[[], None]) -> None:
        super().__init__(
            uvicorn.Config(
                app,  # type: ignore[arg-type]
                log_level="warning",
                ws="websockets-sansio",
                ws_max_size=_LARGEST_MESSAGE,
                lifespan="off",
                timeout_graceful_shutdown=_PAGES_S,
                server_header=False,
            )
        )
        self._before_waiting = before_waiting

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        await asyncio.to_thread(self._before_waiting)
        await super().shutdown(sockets)


def _url(listening: socket.socket) -> str:
    host, port = listening.getsockname()[:2]
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"
