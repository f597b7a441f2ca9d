#!/usr/bin/env bash
# Pins everything anew: each .in file becomes a .txt with versions and hashes, and no address in it.
# Needs pip-tools in .venv. Run after changing an .in file; commit both.
set -euo pipefail
cd "$(dirname "$0")/.."
for name in build run second-opinion check; do
  echo "pinning $name"
  CUSTOM_COMPILE_COMMAND=".requirements/compile.sh" .venv/bin/pip-compile --quiet --generate-hashes \
    --no-emit-index-url --no-emit-trusted-host --no-emit-find-links --strip-extras --allow-unsafe \
    -o ".requirements/$name.txt" ".requirements/$name.in"
done
