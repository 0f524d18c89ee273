# Two commands do everything on a fresh machine: `make demo` and `make test`.

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin

.PHONY: demo test bench trials fuzz soak clean

# The demonstration: an alignment on a simulated bench, by itself, in about three minutes.
# `make demo LIVE=1` opens the page instead, for doing it by hand.
demo: $(VENV)/.installed
	$(BIN)/meterlog-demo $(if $(LIVE),--live)

# Four workers for two cores, for half of them wait (tests/workers.py). Programs that tests start should find
# their bytecode.
test: $(VENV)/.tested
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports --no-logo
	$(BIN)/mypy --num-workers 2
	PYTHONDONTWRITEBYTECODE= $(BIN)/pytest --numprocesses 4 --dist loadfile --no-loadscope-reorder --durations 25

# Timings as ratios against a baseline in the same run; never part of `make test`.
bench: $(VENV)/.tested
	$(BIN)/pytest tests/timing/bench_readings.py --benchmark-only --benchmark-timer=time.process_time --benchmark-columns=min,median,ops --benchmark-sort=fullname
	PYTHONPATH=.:drivers $(BIN)/python -m tests.timing.wire
	PYTHONPATH=.:drivers $(BIN)/python -m tests.timing.handhelds

# The detectors against published methods on signals with known truth, and rounds; about six minutes. See docs/.
trials: $(VENV)/.tested
	for table in settled fallen feel rounds coverage; do PYTHONPATH=.:drivers $(BIN)/python -m tests.trials $$table || exit 1; done

# Ten million random and damaged bytes for each decoder, and 2,000 times unplugged and plugged in; docs/faults.md.
fuzz: $(VENV)/.tested
	PYTHONPATH=.:drivers $(BIN)/python -m tests.fuzz

soak: $(VENV)/.tested
	PYTHONPATH=.:drivers $(BIN)/python -m tests.faults.soak 2000

$(VENV)/.installed: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade pip
	$(BIN)/python -m pip install --quiet --editable .
	touch $@

$(VENV)/.tested: $(VENV)/.installed
	$(BIN)/python -m pip install --quiet --group test
	touch $@

clean:
	rm -rf $(VENV) dist build demo-data
