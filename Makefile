# Two commands need nothing but Python 3.11 or newer: make demo, make test.

PYTHON ?= python3
BIN := .venv/bin
# Whole files, since tests of one file share what the first of them fitted.
TWO := -n 2 --dist loadfile

.PHONY: demo test check wheel lowest bench prove mutants release clean

# The constraints keep everyone on the versions with which the tests were seen to pass.
.venv/ready: pyproject.toml constraints.txt
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --upgrade pip
	$(BIN)/python -m pip install --quiet --constraint constraints.txt --editable ".[dev,web,cluster]"
	mkdir -p .types && ln -sfn .. .types/shotwindow
	touch $@

demo: .venv/ready
	rm -rf .demo
	$(BIN)/shotwindow demo --keep .demo

test: check wheel

check: .venv/ready
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/pytest $(TWO)

# A wheel that misses a template or an example only shows it away from the sources.
wheel: .venv/ready
	rm -rf dist .wheel
	$(BIN)/python -m build --quiet .
	$(PYTHON) -m venv .wheel/venv
	.wheel/venv/bin/python -m pip install --quiet --constraint constraints.txt dist/*.whl
	mkdir .wheel/empty
	cd .wheel/empty && ../venv/bin/shotwindow demo
	rm -rf .wheel

# The oldest versions that pyproject.toml allows, on the oldest Python.
lowest:
	$(PYTHON) -m venv .lowest
	.lowest/bin/python -m pip install --quiet --constraint constraints-lowest.txt --editable ".[dev,web,cluster]"
	.lowest/bin/pytest $(TWO) -W ignore::DeprecationWarning  # of the old libraries themselves
	rm -rf .lowest

bench: .venv/ready
	$(BIN)/python tests/benchmarks/startup.py

# Every benchmark into its page, which README quotes; it takes hours, and goes on where it was cut.
# PEER, a Python with PyMC, adds the comparison with it: make prove PEER=peer/bin/python
prove: .venv/ready
	$(BIN)/python tests/benchmarks/prove.py $(if $(PEER),--peer $(PEER))
	$(BIN)/python tests/benchmarks/quoting.py

# Do the tests bite? A sample of small faults, made in a copy; goes on where it was cut.
mutants: .venv/ready
	$(PYTHON) -m venv .mutants/venv
	.mutants/venv/bin/python -m pip install --quiet cosmic-ray==8.7.0
	.mutants/venv/bin/python tests/benchmarks/mutants.py --json .mutants/rows.jsonl

# Both distributions, checked; the wheel was run apart, and so is what is built from the sources.
release: wheel
	$(PYTHON) -m venv .release/venv
	.release/venv/bin/python -m pip install --quiet twine==7.0.0
	.release/venv/bin/twine check --strict dist/*
	.release/venv/bin/python -m pip install --quiet --constraint constraints.txt dist/*.tar.gz
	mkdir .release/empty
	cd .release/empty && ../venv/bin/shotwindow demo
	rm -rf .release

clean:
	rm -rf .venv .types .wheel .lowest .demo .prove .mutants .release build dist *.egg-info
