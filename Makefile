# Every task of the project. `make` alone lists them.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt
# Files stay whole, since their tests share what is slow to make; in the order of their names
# the long ones come early and the many short ones even out the end.
PARALLEL := -n logical --maxprocesses 8 --dist loadfile --no-loadscope-reorder

FOR := 60
SEED := 1
TIMES := 40
SAMPLE := 200

.DEFAULT_GOAL := help
.PHONY: help demo test check fuzz kill mutants package bench climatology evaluate reference pictures clean

help: ## List the tasks
	@awk -F ':.*## ' '/^[a-z]+:.*## / {printf "  make %-11s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

demo: $(VENV)/core ## Build the demo journey into build/
	$(BIN)/sheltermap build regions/silk-seeds/trip.toml -o build

# Compiled modules are kept, whatever the environment says: tests start many processes.
test: export PYTHONDONTWRITEBYTECODE =
test: $(VENV)/test ## Run all tests, on every processor
	$(BIN)/python -m pytest $(PARALLEL)

check: $(VENV)/test ## Types, lint, format and layer checks only
	$(BIN)/mypy
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/oxlint --deny-warnings site_template/assets
	$(BIN)/python -m pytest tests/test_layers.py

fuzz: $(VENV)/test ## Feed damaged files for a minute: make fuzz FOR=3600 SEED=7 for an hour
	$(BIN)/python tests/fuzz_values.py --seconds $$(($(FOR) / 3)) --seed $(SEED)
	$(BIN)/python tests/fuzz.py --seconds $(FOR) --seed $(SEED)

kill: $(VENV)/test ## Break off builds at random moments: make kill TIMES=500 SEED=7
	$(BIN)/python tests/kill.py --times $(TIMES) --seed $(SEED)

mutants: $(VENV)/test ## Plant small faults and count those that tests notice: make mutants SAMPLE=50
	nice $(BIN)/python tests/mutants.py --sample $(SAMPLE) --seed $(SEED)

package: $(VENV)/test ## Build wheel and source archive, install them elsewhere and try them
	$(BIN)/python tests/package.py

bench: $(VENV)/test ## Measure speed and sizes, as ratios within one run
	$(BIN)/python tests/bench.py

climatology: $(VENV)/world ## Remake the embedded climatology from its packages, and refit its extremes
	$(BIN)/python regions/world/make_climatology.py
	$(BIN)/python regions/world/fit_extremes.py
	$(BIN)/python regions/world/make_rivers.py

evaluate: $(VENV)/test ## Compare the embedded data with measured stations, into evaluation/
	$(BIN)/python tests/evaluate.py

reference: $(VENV)/core ## Rewrite regions/REFERENCE.md from the models that check the files
	$(BIN)/python -m sheltermap.reference > regions/REFERENCE.md

pictures: $(VENV)/test ## Remake README's pictures, with Chromium
	$(BIN)/python tests/pictures.py

clean: ## Remove what was built, and the virtual environment
	rm -rf build evaluation dist .mutants $(VENV)

# Two stamps in one environment: the demo must not wait for the test tools, which bring all
# that it needs.
$(VENV)/core: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(PIP) -e .
	@touch $@

$(VENV)/world: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(PIP) -e '.[world]'
	@touch $(VENV)/core $@

$(VENV)/test: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(PIP) -e '.[test]'
	@touch $(VENV)/core $@
