# make demo   plan the demo operation and say where its map is
# make test   run the tests          (PYTEST_ARGS="-k density" to choose; on all cores by default)
# make lint   ruff and mypy
# make bench  timing and quality, about a day; make bench-quick a small part in five minutes
#             (BENCH_ARGS="--only growth proofs" to choose parts)
# make fuzz   100,000 damaged inputs for every reader, some hours (FUZZ_ARGS="--trials 2000 --only csv")
# make mutants  change the audit's code 150 times and see its tests notice (MUTANTS="need --sample 0"), an hour
# make reliability   kill whatever writes a thousand times, ten minutes (BENCH_ARGS="--kills 100")
# make packages    write docs/packages.md and .ci/constraints.txt anew
# make dist-check  build wheel and sdist, install each elsewhere and plan the demo, some minutes
# Each installs what it needs into .venv first. PYTHON=python3.12 chooses the interpreter (3.11 or later);
# CONSTRAINTS=.ci/constraints.txt the versions that the tests last ran with, else the newest.

PYTHON ?= python3
PYTEST_ARGS ?= -n auto --maxprocesses 4
BENCH_ARGS ?=
FUZZ_ARGS ?=
MUTANTS ?= audit --sample 150
VENV := .venv
BIN := $(VENV)/bin
CONSTRAINTS ?=
INSTALL := $(BIN)/python -m pip install --quiet --disable-pip-version-check \
	$(if $(CONSTRAINTS),--constraint $(CONSTRAINTS)) --editable

.DEFAULT_GOAL := demo
.PHONY: demo test lint bench bench-quick pictures fuzz reliability mutants packages dist-check clean

# Exit code 1 means done, with yards left unserved: the map of this run tells it from a crash.
demo: $(VENV)/ready
	@touch $(VENV)/demo-began
	@$(BIN)/feedround demo --out maps/demo || { test $$? -eq 1 \
		&& test -n "$$(find maps/demo -name map.html -newer $(VENV)/demo-began 2>/dev/null)"; }

test: $(VENV)/ready-test
	$(BIN)/python -m pytest $(PYTEST_ARGS)

lint: $(VENV)/ready-dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: $(VENV)/ready-test
	$(BIN)/python -m benchmarks $(BENCH_ARGS)

bench-quick: $(VENV)/ready-test
	$(BIN)/python -m benchmarks --quick $(BENCH_ARGS)

fuzz: $(VENV)/ready-test
	$(BIN)/python -m tests.fuzz $(FUZZ_ARGS)

packages: $(VENV)/ready-test $(VENV)/ready-dev
	$(BIN)/python -m tools.packages

dist-check: | $(BIN)/python
	$(BIN)/python -m tools.dist_check

reliability: $(VENV)/ready-test
	$(BIN)/python -m benchmarks.reliability $(BENCH_ARGS)

mutants: $(VENV)/ready-test
	$(BIN)/python -m pip install --quiet --disable-pip-version-check "mutmut>=3.8"
	$(BIN)/python -m tools.mutants $(MUTANTS)
# Measure the map and draw the pictures of README and docs anew (chromium, pdftoppm).
pictures: $(VENV)/ready-test
	$(BIN)/python -m tools.pictures
	$(BIN)/python -m benchmarks.looks

clean:
	rm -rf $(VENV) .pytest_cache .mypy_cache .ruff_cache .hypothesis feedround.egg-info

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
		|| { echo "feedround needs Python 3.11 or later: make PYTHON=python3.12 ..." >&2; exit 2; }
	@$(PYTHON) -m venv $(VENV) \
		|| { rm -rf $(VENV); echo "No virtual environment: on Debian, apt-get install python3-venv" >&2; exit 2; }

$(VENV)/ready: pyproject.toml | $(BIN)/python
	$(INSTALL) .
	@touch $@

$(VENV)/ready-test: pyproject.toml | $(BIN)/python
	$(INSTALL) ".[test]"
	@touch $@

$(VENV)/ready-dev: pyproject.toml | $(BIN)/python
	$(INSTALL) ".[dev]"
	@touch $@
