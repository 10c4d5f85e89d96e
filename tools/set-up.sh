# Read by ./start and ./test (`. tools/set-up.sh`): makes .venv and installs the pinned packages and asmade into it, once.
# The caller has set `here` (folder of the checkout, physical path) and `me` (name to begin messages with).

venv=$here/.venv
python=$venv/bin/python
log=$venv/install.log

fail() {
    echo "$me: $1" >&2
    exit 2
}

# The first Python that is new enough and can make environments; the way out in one line where there is none.
find_python() {
    seen=''
    bare=''
    old_ifs=$IFS
    IFS=:
    for candidate in ${PYTHON:-python3.13:python3.12:python3.11:python3}; do
        # A command may be there and still not run (a version manager's stand-in), so each is asked.
        version=$("$candidate" -c 'import sys; print("%d.%d" % sys.version_info[:2])' 2>/dev/null) || continue
        "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || {
            seen="$candidate is $version"
            continue
        }
        "$candidate" -c 'import ensurepip, venv' 2>/dev/null || {
            bare=$candidate
            continue
        }
        IFS=$old_ifs
        return
    done
    IFS=$old_ifs
    [ -z "$bare" ] || fail "$bare cannot make environments; install its venv package (Debian, Ubuntu: sudo apt-get install python3-venv) and run ./$me again."
    fail "needs Python 3.11 or newer (${seen:-none found}); install one, or name one you have: PYTHON=/path/to/python3.12 ./$me"
}

# What an installation was made from: place, Python, what is pinned. A change of any of them asks for a new one.
key_of() {
    {
        echo "$here"
        "$python" -c 'import sys; print(sys.version)' 2>&1
        cat "$here/pyproject.toml" "$here/$1"
    } | cksum
}

is_set_up() {
    [ -x "$python" ] && [ -f "$venv/$1.installed" ] && [ "$(cat "$venv/$1.installed")" = "$(key_of "$1")" ]
}

# An environment that runs, is new enough, and was made in this place (scripts in it name the place).
is_usable() {
    [ -x "$python" ] && grep -q -F -- "$venv" "$venv/pyvenv.cfg" 2>/dev/null &&
        "$python" -c 'import sys, pip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null
}

install() {
    PIP_USER=0 PIP_DISABLE_PIP_VERSION_CHECK=1 "$python" -m pip install --quiet --no-input "$@" >>"$log" 2>&1
}

# One clear line for why pip could not.
explain() {
    if grep -q -i 'do not match the hashes' "$log"; then
        fail "a package from the registry is not the one that is pinned, so it was not installed; try again, then with another mirror (details: $log)"
    elif grep -q -i 'no space left' "$log"; then
        fail "the disk is full; free about 700 MB and run ./$me again (details: $log)"
    elif grep -q -i -E 'connection|timed out|timeout|name resolution|unreachable|proxy|ssl|could not fetch|from versions: none' "$log"; then
        fail "the package registry is out of reach; go online and run ./$me again, or give a folder with the packages: PIP_NO_INDEX=1 PIP_FIND_LINKS=FOLDER ./$me (details: $log)"
    fi
    fail "the packages could not be installed: $(grep -m 1 -i '^error' "$log" || echo 'pip gave no reason') (details: $log)"
}

# set_up FILE [FILE_INSIDE]: installs what FILE pins, and asmade itself, if that has not been done yet.
# FILE_INSIDE is a file of pins that FILE contains, so that it needs no installation of its own afterwards.
set_up() {
    is_set_up "$1" && return
    if ! is_usable; then
        find_python
        echo "Making .venv with $candidate (Python $version) ..."
        said=$("$candidate" -m venv --clear "$venv" 2>&1) ||
            fail "$candidate could not make $venv: $(printf '%s\n' "$said" | tail -n 1)"
    fi
    echo "Installing the packages pinned in $1 (the first time this takes a minute) ..."
    : >"$log" || fail "cannot write in $venv; see who owns it"
    install --require-hashes --requirement "$here/$1" || explain
    (cd "$here" && install --no-index --no-deps --no-build-isolation --editable .) || explain
    for file in "$@"; do
        key_of "$file" >"$venv/$file.installed"
    done
}
