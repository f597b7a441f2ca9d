#!/usr/bin/env bash
# Sets the project up in .venv: setup.sh run | check
#   run    what the product and its demo need      check  that, and what the tests need
# A second call does nothing but compare stamps. Debian packages are installed when root;
# otherwise the one command that installs them is printed and we leave with status 3.
set -euo pipefail
cd "$(dirname "$0")/.."

purpose=${1:?usage: setup.sh run|check}
debian=(python3 python3-venv tesseract-ocr espeak-ng libportaudio2 libgl1 libglib2.0-0)
case $purpose in
  run) pins=run ;;
  check)
    pins=check
    debian+=(chromium flite fonts-dejavu-core fonts-dseg fonts-urw-base35 libasound2-plugins poppler-utils
             libharfbuzz-subset0 libpango-1.0-0 libpangoft2-1.0-0 pocketsphinx-testdata postgresql pulseaudio
             pulseaudio-utils strace)
    ;;
  *) echo "usage: setup.sh run|check" >&2; exit 2 ;;
esac

# Newer releases carry some libraries under the old name with "t64" behind it.
installed() {
  { dpkg-query -W -f '${db:Status-Status}\n' "$1" "$1t64" 2>/dev/null || true; } | grep -qx installed
}
missing=()
for package in "${debian[@]}"; do
  installed "$package" || missing+=("$package")
done
if ((${#missing[@]})); then
  if [ "$(id -u)" = 0 ]; then
    echo "Installing Debian packages: ${missing[*]}"
    apt-get update -qq
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
  else
    printf 'Some Debian packages are missing. Install them with:\n  sudo apt-get install %s\nthen run this again.\n' \
      "${missing[*]}" >&2
    exit 3
  fi
fi

python=python3
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
  echo "Fieldnote needs Python 3.11 or newer; $("$python" --version) was found. Install python3 from Debian 12 or newer." >&2
  exit 3
}
[ -x .venv/bin/python ] || { echo "Making .venv"; "$python" -m venv .venv; }

# The stamp names what is installed: the pins and the project's own metadata.
stamp_of() { cat ".requirements/$1.txt" .requirements/build.txt pyproject.toml | sha256sum | cut -d' ' -f1; }
if [ "$(cat ".venv/.stamp-$pins" 2>/dev/null)" != "$(stamp_of "$pins")" ]; then
  echo "Installing Python packages into .venv (once; some minutes on a slow line)"
  .venv/bin/python -m pip install --quiet --disable-pip-version-check --require-hashes \
    -r .requirements/build.txt -r ".requirements/$pins.txt"
  PYTHONWARNINGS=ignore .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps \
    --no-build-isolation -e .
  stamp_of "$pins" >".venv/.stamp-$pins"
  # What the tests need holds all that the product needs.
  [ "$pins" != check ] || stamp_of run >.venv/.stamp-run
fi
