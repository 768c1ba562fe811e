# The two commands are `make demo` and `make test`; `make help` lists the rest.
SHELL := /bin/bash
PYTHON ?= python3
VENV := .venv
PY := $(VENV)/bin/python
PORT ?= 8000
export PORT
# processes of a run of tests: one more than processors, because each waits now and then
PROCESSES := $(shell echo $$(($$(nproc 2>/dev/null || echo 2) + 1)))

help: ## list these commands
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | sort | awk -F'\t' '{printf "  %-16s %s\n", $$1, $$2}'

CATALOGUES := $(wildcard portal/locale/*/LC_MESSAGES/*.po)
SPEECH := $(CATALOGUES:.po=.mo)

$(VENV)/run.done: requirements.lock.txt .ci/set-up
	@bash .ci/set-up run
$(VENV)/dev.done: requirements-dev.lock.txt .ci/set-up
	@bash .ci/set-up dev
$(SPEECH): %.mo: %.po | $(VENV)/run.done
	@bash .ci/set-up languages
build/tools.done: .ci/set-up tests/package-lock.json
	@bash .ci/set-up tools
build/system.done: .ci/set-up tests/package-lock.json
	@bash .ci/set-up system

demo: $(VENV)/run.done $(SPEECH) ## run the portal with demo data on http://127.0.0.1:8000 (PORT= changes it)
	@$(PY) -m portal demo

serve: $(VENV)/run.done $(SPEECH) ## run the portal on your own data
	@$(PY) -m portal serve

migrate: $(VENV)/run.done ## bring the database to the newest form
	@$(PY) -m portal migrate

test: $(VENV)/dev.done $(SPEECH) build/system.done ## run all tests (sets up what it needs)
	@env -u PYTHONDONTWRITEBYTECODE $(PY) -m pytest tests -n $(PROCESSES) --tb native --durations 5 --durations-min 5

test-deep: $(VENV)/dev.done $(SPEECH) build/system.done ## run all tests at length: ten times the examples, both databases everywhere
	@env -u PYTHONDONTWRITEBYTECODE DEEP=1 $(PY) -m pytest tests -n $(PROCESSES) --tb native

day: $(VENV)/dev.done $(SPEECH) ## play a working day through the verbs on both databases and count the money (SEED= repeats)
	@DAY_SEED="$(or $(SEED),$(shell date +%s))" $(PY) -m pytest tests/day -q -p no:cacheprovider

faults: $(VENV)/dev.done $(SPEECH) build/system.done ## kill the portal N times (100) on both databases, fill disks, step clocks; table to build/faults.json
	@env -u PYTHONDONTWRITEBYTECODE $(PY) -m tests.faults "$(N)" "$(SEED)"

customers: $(VENV)/dev.done $(SPEECH) ## let N customers walk from the landing page to the hand-back (N=2000, SEED= repeats)
	@$(PY) -m tests.customers "$(N)" "$(SEED)"

check: $(VENV)/dev.done $(SPEECH) build/tools.done ## ruff, types, layers, scripts, styles, templates, dead code, message catalogues
	@bash .ci/checks

messages: $(VENV)/dev.done ## draw the sentences anew and bring the catalogues of all languages up to them
	@$(PY) -m tests.house.catalogues
	@bash .ci/set-up languages

fix: $(VENV)/dev.done ## let ruff format and mend what it can
	@$(VENV)/bin/ruff check --fix portal tests ; $(VENV)/bin/ruff format portal tests

mutants: $(VENV)/dev.done $(SPEECH) build/system.done ## plant N small faults in the trade, the shop and the guards, print what no test caught (N=100, SEED=1)
	@$(PY) -m tests.mutants "$(N)" "$(SEED)"

bench: $(VENV)/dev.done $(SPEECH) build/system.done ## measure speed and memory, figures to build/bench.json
	@bash .ci/set-up bench
	@$(PY) -m tests.bench.bench

bench-promise: $(VENV)/dev.done ## prove the promise against a simulated shop, figures to build/promise.json (QUICK=1: one load, two seeds)
	@$(PY) -m tests.bench.promise $(if $(QUICK),--quick)

load: $(VENV)/dev.done $(SPEECH) build/system.done ## two machines on PostgreSQL under load, then slow clients, figures to build/load.json (S=300 seconds)
	@$(PY) -m tests.load "$(S)"

scan: $(VENV)/dev.done $(SPEECH) build/system.done ## two scanners and a fuzzer against the demo, each shown a planted fault first
	@bash .ci/set-up scan
	@$(PY) -m tests.scan

spoken: $(VENV)/dev.done $(SPEECH) build/system.done ## write anew what a screen reader says of the pages (tests/browser/spoken)
	@SPOKEN=1 $(PY) -m pytest tests/browser/test_spoken.py --tb native

walks: $(VENV)/dev.done $(SPEECH) build/system.done ## walk the flows in a browser, screenshots to build/walks
	@WALKS=1 $(PY) -m pytest tests/browser -n 2 --ignore tests/browser/layout --tb native

pictures: $(VENV)/dev.done $(SPEECH) build/system.done ## take the screenshots of the README
	@$(PY) -m tests.browser.pictures

lighthouse: $(VENV)/dev.done $(SPEECH) build/system.done ## judge the pages as a phone on a slow line, figures to build/lighthouse.json
	@bash .ci/set-up lighthouse
	@$(PY) -m tests.browser.lighthouse

lock: ## renew the lock files from pyproject.toml (needs uv)
	uv pip compile pyproject.toml --universal -q --generate-hashes --no-emit-index-url --no-header --python-version 3.11 -o requirements.lock.txt
	uv pip compile pyproject.toml --universal -q --group dev -c requirements.lock.txt --generate-hashes --no-emit-index-url --no-header --python-version 3.11 -o requirements-dev.lock.txt

clean: ## remove what was built; keeps data/
	rm -rf build $(VENV)

.PHONY: help day demo serve migrate test test-deep faults customers check messages fix mutants bench bench-promise load scan spoken walks pictures lighthouse lock clean
