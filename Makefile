# Three commands do all the set-up:
#   make serve  installs laydown into .venv and opens the bench, its web app, in your browser
#   make demo   installs laydown into .venv and runs the main job on invented data, from nothing
#   make test   installs everything the tests need and runs lint, types, contracts and tests
# and one more makes the program that needs no Python, to hand on: make build (packaging/README.md).
# They need GNU make and Python 3.11 or newer. On Debian and its kin, `make test` also brings the
# packages with outside test data (as root) or unpacks them into test-data/ (as anyone).

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
LINKED = $(VENV)/lib/python*/site-packages/*laydown*.pth

.PHONY: serve demo test build lint compiled locks clean

serve: $(VENV)/runtime.done
	$(BIN)/laydown serve

demo: $(VENV)/runtime.done
	@echo "laydown: making the demo in laydown-demo/ (about a minute; the first run compiles the search)"
	$(BIN)/laydown demo --folder laydown-demo

test: $(VENV)/dev.done
	$(BIN)/python tools/prepare_tests.py
	$(MAKE) -j 2 lint compiled
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -n 2

build: build/env/made
	build/env/bin/python -m pip install --quiet --no-deps --force-reinstall .
	build/env/bin/python packaging/build.py $(ONLY)

build/env/made: requirements.lock packaging/requirements.lock
	$(PYTHON) -m venv build/env
	build/env/bin/python -m pip install --quiet --require-hashes -r requirements.lock
	build/env/bin/python -m pip install --quiet --require-hashes -r packaging/requirements.lock
	@touch $@

lint: $(VENV)/dev.done
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

compiled: $(VENV)/dev.done
	@$(BIN)/python tools/compile_search.py

$(VENV)/made:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "laydown needs Python 3.11 or newer; say which with: make demo PYTHON=python3.12"; exit 1; }
	@echo "laydown: making a Python environment in $(VENV)/"
	$(PYTHON) -m venv $(VENV)
	@touch $@

$(VENV)/runtime.done: $(VENV)/made requirements.lock pyproject.toml
	@rm -f $(LINKED)
	@echo "laydown: installing what laydown needs (numpy, scipy, numba and others, about 400 MB on disk)"
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --no-deps --editable .
	@# Where the source lies is written as seen from there: Python reads this file in the encoding
	@# of the locale, and a path may hold signs that LC_ALL=C has not.
	@for pth in $(LINKED); do echo ../../../../src > "$$pth"; done
	@touch $@

$(VENV)/dev.done: $(VENV)/runtime.done requirements-dev.lock
	@echo "laydown: installing what its tests need"
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements-dev.lock
	@touch $@

# After a change of dependencies in pyproject.toml; needs uv on the path.
locks:
	uv pip compile pyproject.toml --universal --generate-hashes --no-header \
		--no-emit-index-url --no-annotate --quiet --python-version 3.11 -o requirements.lock
	uv pip compile packaging/requirements.in -c requirements.lock --universal --generate-hashes \
		--no-header --no-emit-index-url --no-annotate --quiet --python-version 3.11 \
		-o packaging/requirements.lock
	uv pip compile pyproject.toml --extra dev --universal --generate-hashes --no-header \
		--no-emit-index-url --no-annotate --quiet --python-version 3.11 -o requirements-dev.lock

clean:
	rm -rf $(VENV) laydown-demo test-data build dist
