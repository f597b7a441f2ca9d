#!/usr/bin/env bash
# All checks, after setting up what they need. Extra arguments go to pytest.
set -euo pipefail
cd "$(dirname "$0")/.."
bash .ci/setup.sh check
bin=.venv/bin
step() { printf '\n== %s\n' "$1"; }
step "format"; $bin/ruff format --check .
step "lint"; $bin/ruff check .
step "types"; $bin/mypy
step "tests"; exec $bin/python -m pytest -n 2 --dist loadfile "$@"
