# Two commands are all a fresh machine needs: `make demo` and `make test`.
PYTHON ?= python3
BIN := .venv/bin
RUN := $(BIN)/prickings

.PHONY: help install demo test check lint types layers docs sheets lock bench clean

help:
	@echo "make demo   install, build the demo collection, publish its site"
	@echo "make test   install what the tests need and run them all"
	@echo "make check  everything a change must pass: format, lint, types, layers, docs, tests"

.venv/installed: requirements.lock pyproject.toml
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --no-deps -e .
	@touch $@

.venv/tested: .venv/installed requirements-test.lock
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements-test.lock
	@touch $@

install: .venv/installed

demo: install
	$(RUN) demo demo

test: .venv/tested
	@$(BIN)/python -m tests.need_chromium
	@$(BIN)/python -m tests.fetching
	$(BIN)/python -m pytest -q -n auto --dist loadfile

check: lint types layers docs test

lint: .venv/tested
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .

types: .venv/tested
	$(BIN)/mypy

layers: .venv/tested
	$(BIN)/lint-imports --no-cache

docs: .venv/tested
	$(BIN)/python -m tests.documents --check

sheets: .venv/installed
	$(BIN)/python -m demo_collection.drawing
	$(BIN)/python -m demo_collection.listing

lock:
	uv pip compile --quiet --universal --generate-hashes --no-header pyproject.toml -o requirements.lock
	uv pip compile --quiet --universal --generate-hashes --no-header --all-extras -c requirements.lock pyproject.toml -o requirements-test.lock

bench: .venv/tested
	$(BIN)/python -m benchmarks

clean:
	rm -rf .venv demo build dist
