# Read by ./test (`. tools/browser.sh`): a Chromium of the system for the tests of the pages, installed where it is missing.

has_browser() {
    for name in chromium chromium-browser google-chrome; do
        command -v "$name" >/dev/null 2>&1 && return
    done
    return 1
}

# As root, or by sudo if that asks nothing; on a system with apt only. Anywhere else the way out in one line.
need_browser() {
    has_browser && return
    as_root=''
    if [ "$(id -u)" -ne 0 ]; then
        sudo -n true 2>/dev/null || fail "the tests of the pages need Chromium: install it (Debian, Ubuntu: sudo apt-get install chromium) and run ./$me again"
        as_root=sudo
    fi
    command -v apt-get >/dev/null 2>&1 || fail "the tests of the pages need Chromium: install it with your system's own means and run ./$me again"
    echo "Installing Chromium for the tests of the pages (the first time this takes a minute or two) ..."
    {
        $as_root apt-get update &&
            $as_root env DEBIAN_FRONTEND=noninteractive apt-get install --yes --no-install-recommends chromium
    } >"$venv/browser.log" 2>&1 || fail "Chromium could not be installed (details: $venv/browser.log)"
    has_browser || fail "Chromium was installed but is not found (details: $venv/browser.log)"
}
