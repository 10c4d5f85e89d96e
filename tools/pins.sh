#!/bin/sh
# Makes requirements.txt and requirements-dev.txt anew from pyproject.toml: exact versions, a hash for every file that the
# registry holds of each (all platforms), no address. Run it with the oldest Python that is supported, so that the pins
# hold for it and for the newer ones. Takes a minute or two and needs the registry.
#
#   tools/pins.sh               keep what is pinned, add and drop what pyproject.toml asks for
#   tools/pins.sh --upgrade     newest releases of everything
set -eu
here=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
cd "$here"
python=${PYTHON:-python3.11}
oldest=$(sed -n 's/^requires-python = ">=\(.*\)"$/\1/p' pyproject.toml)
found=$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')
if [ "$found" != "$oldest" ]; then
    echo "tools/pins.sh: $python is Python $found; pins are made with Python $oldest: PYTHON=/path/to/python$oldest tools/pins.sh" >&2
    exit 2
fi

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT INT TERM
echo "Making a throw-away environment for pip-tools ..."
"$python" -m venv "$work/venv"
"$work/venv/bin/python" -m pip install --quiet --disable-pip-version-check pip-tools

# pins FILE TITLE OPTION...: compiles FILE in place (so that what is pinned stays, unless --upgrade is given).
pins() {
    file=$1 title=$2
    shift 2
    echo "Pinning $file ..."
    "$work/venv/bin/python" -m piptools compile --quiet --generate-hashes --strip-extras --allow-unsafe \
        --no-header --no-annotate --no-emit-index-url --no-emit-find-links --no-emit-trusted-host --no-emit-options \
        --output-file "$file" "$@" pyproject.toml
    {
        echo "# $title"
        echo "# Made by tools/pins.sh from pyproject.toml; do not edit by hand."
        grep -v '^#' "$file" | sed '/^$/d'
    } >"$work/pins"
    cp "$work/pins" "$file"
}

pins requirements-dev.txt "Everything that ./test needs: the run-time packages, the build backend, the checks." \
    --extra dev --all-build-deps "$@"
pins requirements.txt "What ./start needs: the run-time packages and the build backend." \
    --all-build-deps --constraint requirements-dev.txt "$@"
