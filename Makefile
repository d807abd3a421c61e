# `make demo` shows the product; `make test` proves it. `make` alone lists the rest.
BIN := .venv/bin
PORT ?= 8000
# Test processes side by side; WORKERS=0 runs everything in one.
WORKERS ?= 2
export PORT
# The everyday options leave out the suites that need a browser, services or patience; these bring one back.
ONLY := -o addopts="-q --strict-markers --strict-config -p no:cacheprovider"
# What touches no database is proved once, by `make test`.
NO_DATABASE := $(addprefix --ignore=tests/,engine drawing documents customers/lab_files customers/sheets)

.DEFAULT_GOAL := help
.PHONY: help demo demo-reset test check stack browser bench mutants shots lock

help: ## list the targets
	@grep -E '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /  make \1\t/' | expand -t 20

demo: ## install, load the invented dealers once, serve web, worker and beat on PORT (8000)
	@.ci/packages papers
	@.ci/venv run
	@exec $(BIN)/python manage.py serve_demo

demo-reset: ## forget the demo's data (state lives under var/, or TARNHOUSE_VAR)
	@.ci/venv run
	@exec $(BIN)/python manage.py reset_demo

test: ## the everyday suite on SQLite; needs no service
	@.ci/packages --lenient papers papers-test
	@.ci/venv dev
	$(BIN)/python -m pytest -n $(WORKERS) $(PYTEST_ARGS)

check: ## style, types, floors, migrations, deployment settings
	@.ci/venv dev
	@.ci/checks

stack: ## the everyday suite on PostgreSQL, and the suite for PostgreSQL, Redis and a real worker
	@.ci/packages papers papers-test services
	@.ci/venv dev
	.ci/with-services $(BIN)/python -m pytest $(ONLY) tests/stack $(PYTEST_ARGS)
	.ci/with-services $(BIN)/python -m pytest -n $(WORKERS) $(NO_DATABASE) $(PYTEST_ARGS)

browser: ## the demo in Chromium
	@.ci/packages papers papers-test browser
	@.ci/venv dev
	$(BIN)/python -m pytest $(ONLY) tests/browser $(PYTEST_ARGS)

bench: ## timings of the engine, the papers and the pages
	@.ci/packages --lenient papers
	@.ci/venv dev
	$(BIN)/python -m pytest $(ONLY) tests/benchmarks $(PYTEST_ARGS)

mutants: ## does a test notice each small change to the engine? SAMPLE=600 of them (or all), SEED=1; not part of .ci/run
	@.ci/venv dev
	@nice $(BIN)/python -m tests.engine.mutants

shots: ## a picture of every page, in three sizes, under var/shots
	@.ci/packages papers browser
	@.ci/venv dev
	$(BIN)/python -m pytest $(ONLY) tests/browser/shots.py $(PYTEST_ARGS)

lock: ## choose the newest versions pyproject.toml allows and write both locks
	@.ci/venv dev
	$(BIN)/uv pip compile -q --upgrade --generate-hashes --no-header --no-annotate pyproject.toml -o requirements.lock
	$(BIN)/uv pip compile -q --upgrade --generate-hashes --no-header --no-annotate pyproject.toml --extra dev \
		-c requirements.lock -o requirements-dev.lock
