# Everything a person types. Needs python3 (3.11 or newer, with venv) and make; the rest is installed here.
PYTHON ?= python3
BIN := .venv/bin
export PIP_DISABLE_PIP_VERSION_CHECK = 1

.PHONY: demo test check bench safety long faults fuzz licences setup setup-dev clean

demo: .venv/.run ## make a home with an invented season and walk through it
	@$(BIN)/underoak demo demo-home

test: .venv/.dev ## all tests; says what it skipped and why
	@$(BIN)/pytest -n auto --maxprocesses 4 --dist loadfile

check: .venv/.dev ## style, types, layers and docs
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports --no-cache
	@$(BIN)/python tools/check_docs.py

bench: .venv/.bench ## speed as ratios, side by side in one run
	@$(BIN)/python -m benchmarks

safety: .venv/.dev ## the vetting trials at full size
	@$(BIN)/python -m underoak.vetting.trials

long: .venv/.dev ## the tests that are too long for every day
	@$(BIN)/pytest -m long

faults: .venv/.dev ## kills, full disks, damaged pages, interrupted migrations (some minutes)
	@$(BIN)/python -m tools.fault_trials

fuzz: .venv/.dev ## a million spoilt files (half an hour)
	@$(BIN)/python -m tools.fuzz_readers

licences: .venv/.dev ## the licence of every library
	@$(BIN)/python -m tools.licences

setup: .venv/.run
setup-dev: .venv/.dev

.venv/.python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "underoak needs Python 3.11 or newer; try: make PYTHON=python3.12 $(MAKECMDGOALS)"; exit 1; }
	@$(PYTHON) -m venv .venv
	@touch $@

.venv/.run: .venv/.python requirements/run.txt requirements/build.txt pyproject.toml
	@echo "Installing underoak into .venv (once; about 350 MB) …"
	@$(BIN)/pip install -q --no-compile --require-hashes -r requirements/build.txt -r requirements/run.txt
	@$(BIN)/pip install -q --no-deps --no-build-isolation -e .
	@touch $@

.venv/.dev: .venv/.run requirements/dev.txt
	@echo "Installing what the tests need into .venv (once) …"
	@$(BIN)/pip install -q --no-compile --require-hashes -r requirements/dev.txt
	@touch $@

.venv/.bench: .venv/.dev requirements/bench.txt
	@echo "Installing what the benchmarks compare with into .venv (once) …"
	@$(BIN)/pip install -q --no-compile --require-hashes -r requirements/bench.txt
	@touch $@

clean: ## remove what was built, not your homes
	rm -rf .venv .mypy_cache .ruff_cache .pytest_cache .hypothesis
