# Every task a developer needs; CI runs test and check.
PYTHON ?= python3
BIN := .venv/bin
DEMO ?= demo-shop
# SERVE=0 sets the demo's shop up, checks it and stops.
SERVE ?= 1
# How much `make soak` does, on each database: people killed at work, and lives of a shop lived.
KILLS ?= 1000
LIVES ?= 300

.PHONY: demo test soak check bench format lock clean

demo: .venv/ok
	$(BIN)/combwright demo $(DEMO) $(if $(filter 0,$(SERVE)),--no-serve,--serve)

test: .venv/ok
	$(BIN)/python tests/debian.py chromium fluid-soundfont-gm abcmidi
	$(BIN)/pytest -n auto
	$(BIN)/python tests/with_postgresql.py $(BIN)/pytest -n auto -m data tests/shop

# Hours of it: kill -9 in the middle of everything, any action after any other, everybody at once.
soak: .venv/ok
	COMBWRIGHT_KILLS=$(KILLS) COMBWRIGHT_LIVES=$(LIVES) $(BIN)/pytest -m data tests/shop/life tests/shop/crashes
	COMBWRIGHT_KILLS=$(KILLS) COMBWRIGHT_LIVES=$(LIVES) $(BIN)/python tests/with_postgresql.py \
	  $(BIN)/pytest -m data tests/shop/life tests/shop/crashes

check: .venv/ok
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	COMBWRIGHT_DATA=.venv/check $(BIN)/mypy
	$(BIN)/lint-imports

bench: .venv/ok
	$(BIN)/python -m benchmarks

format: .venv/ok
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

# Everything pinned, with hashes; run after a change of the dependencies in pyproject.toml.
lock: .venv/uv
	$(BIN)/uv pip compile --python-version 3.11 --universal --generate-hashes --no-emit-index-url \
	  --no-header --quiet --upgrade --extra shop --group dev pyproject.toml --output-file requirements.lock

.venv/uv:
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check uv
	touch $@

.venv/ok: .venv/uv requirements.lock pyproject.toml
	$(BIN)/uv pip sync --quiet --python $(BIN)/python requirements.lock
	$(BIN)/uv pip install --quiet --python $(BIN)/python --no-deps --editable .
	touch $@

clean:
	rm -rf .venv demo-shop
