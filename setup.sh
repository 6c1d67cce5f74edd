# Sourced by ./warmside, ./check and ./bench: makes .venv with the pinned versions of requirements/$1.txt.
# A stamp named after the pins and the interpreter makes the second run start at once.
set -euo pipefail
cd "$here"
export PYTHONPATH="$here/src" PIP_DISABLE_PIP_VERSION_CHECK=1
warmside_setup() {
    local pins="requirements/$1.txt" python="${PYTHON:-python3}" stamp
    stamp=".venv/.pins-$1-$(cat requirements/*.txt | cksum | tr ' ' '-')"
    if [ -f "$stamp" ] && [ -x .venv/bin/python ]; then return; fi
    if ! command -v "$python" >/dev/null; then
        echo "Warmside needs Python 3.11 or newer; '$python' was not found (set PYTHON=/path/to/python3)." >&2; exit 1
    fi
    if ! "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
        echo "Warmside needs Python 3.11 or newer; '$python' is $("$python" -V 2>&1)." >&2; exit 1
    fi
    echo "Setting up (first run only): Python packages of $pins into .venv" >&2
    if [ ! -x .venv/bin/python ]; then
        "$python" -m venv .venv || { echo "Python's venv module is missing (Debian: apt-get install python3-venv)." >&2; exit 1; }
    fi
    echo "  1/2 installing $(grep -hc == "$pins" requirements/run.txt | sort -n | tail -1)+ packages, one to three minutes ..." >&2
    .venv/bin/python -m pip install --quiet --requirement "$pins" >&2
    echo "  2/2 warming the compiled solvers ..." >&2
    .venv/bin/python -m compileall -q src >&2
    .venv/bin/python -m warmside.physics >&2
    rm -f .venv/.pins-"$1"-*; : > "$stamp"
    echo "Ready." >&2
}
