"""The daemon killed in the middle of a step, over real wires: the session ends as if nothing had been."""

from contextlib import closing
from pathlib import Path

import pytest

from meterlog.demo.eyes import LiveView
from meterlog.demo.programs import Programs
from meterlog.records import DataFolder, load_session, replay
from tests.daemon.process import meterlog
from tests.demo.bench import Desk, short_procedure


def in_the_middle_of_the_pair(view: LiveView) -> bool:
    shown = view.live.get("view")
    return bool(
        shown
        and (shown["step"], shown["pass_"]) == ("panel-meter", "adjust")
        and shown["guide"]["phase"] in ("trim", "arrive")
        and shown["guide"]["present"] is not None
    )


@pytest.mark.wire
@pytest.mark.slow
@pytest.mark.timeout(400)
def test_killed_in_a_step_the_session_goes_on_there_and_replays_to_the_last_bit(tmp_path: Path) -> None:
    with Programs(tmp_path) as programs, closing(Desk(programs)) as desk:
        session = desk.begin(short_procedure(tmp_path))
        before = desk.work(desk.technician(), in_the_middle_of_the_pair)
        programs.daemon.process.kill()
        programs.daemon.process.wait()
        programs.start_daemon()
        desk.meet()
        resumed = desk.client.get("/api/session").json()
        assert (resumed["step"], resumed["pass_"]) == ("panel-meter", "adjust")
        after = desk.work(desk.technician(), lambda view: view.ended is not None)
        assert after.ended is not None
        assert after.ended["verdict"] == "pass"
    announced = [message["settled"]["number"] for message in before.stored + after.stored]
    database = DataFolder(programs.data).open()
    kept = [value.number for value in load_session(database, session).settled_values]
    assert set(announced) <= set(kept), "what was announced is there"
    assert kept == list(range(1, len(kept) + 1))
    report = replay(database, session)
    assert not report.differences
    database.dispose()
    said = meterlog("replay", str(session), "--data", programs.data)
    assert said.returncode == 0, said.stderr
