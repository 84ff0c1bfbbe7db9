# Two commands for a fresh machine with Python 3.11 or newer:
#   make demo   sets up and walks one call through the service
#   make test   sets up and runs every check

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.PHONY: demo test contract faults load bench lock wheel clean

demo: $(VENV)/.run
	$(BIN)/halfsplit demo

test: $(VENV)/.dev
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/pytest -n 2

contract: $(VENV)/.dev
	HALFSPLIT_CONTRACT=long $(BIN)/pytest -n 2 tests/api/test_contract.py

faults: $(VENV)/.dev
	$(BIN)/python -m tests.faults.killing 300
	$(BIN)/python -m tests.faults.killing 100 --postgresql
	$(BIN)/python -m tests.faults.killing 100 --database-itself

load: $(VENV)/.dev
	$(BIN)/python -m tests.bench.traffic --minutes 10

bench: $(VENV)/.dev
	$(BIN)/python -m tests.bench bench.json
	$(BIN)/python -m tests.bench.web

wheel: $(VENV)/.dev
	$(BIN)/pip wheel --no-deps --no-build-isolation --wheel-dir dist .

lock:
	uv pip compile --universal --generate-hashes --no-emit-index-url --no-header --python-version 3.11 \
		--extra build -o requirements.lock pyproject.toml
	uv pip compile --universal --generate-hashes --no-emit-index-url --no-header --python-version 3.11 \
		--extra build --extra dev -o requirements-dev.lock pyproject.toml

clean:
	rm -rf $(VENV) dist build .mypy_cache .ruff_cache .pytest_cache .hypothesis

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "Python 3.11 or newer is needed; name one with: make PYTHON=python3.12 ..."; exit 1; }
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: $(BIN)/python requirements.lock pyproject.toml
	$(BIN)/pip install --quiet --require-hashes -r requirements.lock
	$(BIN)/pip install --quiet --no-deps --no-build-isolation --editable .
	$(BIN)/python -m compileall -q graph schemas api
	@touch $@

$(VENV)/.dev: $(BIN)/python requirements-dev.lock pyproject.toml
	$(BIN)/pip install --quiet --require-hashes -r requirements-dev.lock
	$(BIN)/pip install --quiet --no-deps --no-build-isolation --editable .
	$(BIN)/python -m compileall -q graph schemas api
	@touch $@ $(VENV)/.run
