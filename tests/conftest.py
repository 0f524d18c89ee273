"""What holds for the whole suite."""

import os
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

# Examples may take their time: the machine may be busy with something else.
settings.register_profile("patient", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("patient")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """With `--dist loadfile`, files are dealt out as tests/workers.py says."""
    if config.getoption("dist") != "loadfile":
        return None
    from tests.workers import Workers  # here, for who runs without xdist

    return Workers(config, log)


def pytest_runtest_logstart(nodeid: str) -> None:
    if "PYTEST_XDIST_WORKER" in os.environ:
        from tests.workers import give_way

        give_way(nodeid.partition("::")[0])
