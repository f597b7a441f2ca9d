#!/usr/bin/env bash
# One whole invented job, from complaint to report, on the samples beside this script.
#   demo.sh [FOLDER]    its log and report go there; samples/out without
set -euo pipefail
out=$(realpath -m "${1:-$(dirname "$0")/out}")
cd "$(dirname "$0")/.."
bash .ci/setup.sh run

export FIELDNOTE_HOME="$out/log"
job=DEMO-RUDDER
report="$out/report.html"
fieldnote() { .venv/bin/fieldnote "$@"; }
# An answer of 1 means "something is still asked": part of the job, not the end of the demo.
take() { printf '\n$ fieldnote take %s\n' "$*"; fieldnote take "$@" --job "$job" || [ $? = 1 ]; }

mkdir -p "$out"
if fieldnote show --job "$job" >/dev/null 2>&1; then
  echo "The demo's job $job exists already; nothing is taken twice. (Remove $out to run it anew.)"
else
  echo "An invented job on an invented harbour workboat. Everything in it is made up."
  fieldnote start --ref "$job" --procedure rudder-angle-sender --meter bench-meter \
    --asset "harbour workboat (invented), rudder-angle sender" --serial INVENTED-17 --hours 4312.5 \
    --complaint "helm indicator jumps near hard to port" --technician "A. Nobody (invented)"
  take sound samples/1-before-taking-apart.wav
  take photo samples/supply.jpg
  take text "confirmed"
  take sound samples/2-wires.wav
  take photo --caption "connector, open" samples/connector-open.jpg
  take photo samples/insulation.jpg samples/midships.jpg
  take sound samples/3-resistance.wav
  take text "boot on the connector is torn, renewed and greased"
  take photo --caption "sender as left" samples/sender-fitted.jpg
fi

fieldnote show --job "$job"
fieldnote verify --job "$job"
fieldnote report --job "$job" --out "$report"
