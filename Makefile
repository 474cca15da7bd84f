# make demo: the main job from nothing.  make test: all tests.  Python 3.11 or newer, git and make are enough.
PYTHON ?= $(shell for p in python3 python3.14 python3.13 python3.12 python3.11 python; do \
  $$p -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$p && break; done)
V      := .venv
BIN    := $(V)/bin
UV     := $(shell command -v uv 2>/dev/null)
export NUMBA_CACHE_DIR := $(CURDIR)/.cache/numba
unexport PYTHONDONTWRITEBYTECODE

ifdef UV
  venv = uv venv -q --python $(PYTHON) --no-python-downloads $(V)
  pip  = uv pip install -q --python $(BIN)/python --compile-bytecode
else
  venv = $(PYTHON) -m venv $(V)
  pip  = $(BIN)/pip install -q --disable-pip-version-check
endif

.PHONY: demo test check bench lock clean docs
demo: $(V)/.core
	$(BIN)/trysquare demo

test: $(V)/.all
	$(BIN)/python -m pytest -n 2 $(ARGS)

check: $(V)/.all
	$(BIN)/ruff check src tests bench docs
	$(BIN)/ruff format --check src tests bench docs/*.py
	$(BIN)/mypy

bench: $(V)/.all
	$(BIN)/python -m bench $(ARGS)

docs: $(V)/.core
	$(BIN)/python -m docs.make
	set -e; for page in docs/draw_*.py; do $(BIN)/python -m docs.$$(basename $$page .py); done

# Stamps say what is whole: what was interrupted, or has lost its Python since, is made anew.
ifneq ($(shell $(BIN)/python -c pass 2>/dev/null && echo runs),runs)
.PHONY: $(V)/.made
endif

$(V)/.made:
	@test -n "$(PYTHON)" || { echo "Trysquare needs Python 3.11 or newer on the path. Name one: make demo PYTHON=/path/to/python3.12"; exit 1; }
	@rm -rf $(V)
	$(venv)
	@touch $@

$(V)/.core: requirements/core.txt pyproject.toml $(V)/.made
	@echo "Fetching the libraries, once: from your package index into $(V), silent for a minute or some."
	$(pip) --require-hashes -r requirements/core.txt
	$(pip) --no-deps --no-build-isolation -e .
	@touch $@

$(V)/.all: requirements/all.txt $(V)/.core
	@echo "Fetching the libraries of the tests, once."
	$(pip) --require-hashes -r requirements/all.txt
	@touch $@

lock_with = uv pip compile -q --universal --python-version 3.11 --generate-hashes --no-annotate --no-header --no-emit-index-url --no-emit-find-links pyproject.toml --group build
lock:
	$(lock_with) -o requirements/all.txt --all-extras --group dev
	$(lock_with) -o requirements/core.txt -c requirements/all.txt --extra pdf
	! grep -nE '://|--index|--find-links' requirements/*.txt

clean:
	rm -rf $(V) .cache demo-out
