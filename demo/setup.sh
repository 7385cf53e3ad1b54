# Sourced by demo/run and tests/run: makes .venv with walkapp in it, and sees to it that a window
# can be drawn. Installs system packages only as root on Debian and its relatives; elsewhere it
# says what is missing, if anything is.

set_up() {  # $1: name of an extra of pyproject.toml, or empty
    local python="" candidate extra="${1:+[$1]}"
    for candidate in python3 python3.14 python3.13 python3.12 python3.11; do
        if command -v "$candidate" >/dev/null &&
            "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
            python=$candidate
            break
        fi
    done
    if [ -z "$python" ]; then
        echo "walkapp needs Python 3.11 or newer; install it first." >&2
        exit 2
    fi
    need_window "$python"
    if [ ! -x .venv/bin/python ]; then
        if ! "$python" -m venv .venv; then
            rm -rf .venv
            need_packages python3-venv
            "$python" -m venv .venv
        fi
    fi
    # Installing is skipped while nothing that decides it has changed.
    local wanted stamp=".venv/.installed$extra"
    wanted=$(cat pyproject.toml demo/setup.sh | cksum)
    if [ "$(cat "$stamp" 2>/dev/null)" != "$wanted" ]; then
        echo "Installing walkapp$extra into .venv ..."
        .venv/bin/python -m pip install --quiet --disable-pip-version-check --editable ".$extra"
        echo "$wanted" >"$stamp"
    fi
}

need_window() {  # a window without a graphics card needs Mesa's OpenGL and EGL
    local missing
    missing=$("$1" - <<'PY'
import ctypes, sys
needed = {"libGL.so.1": "libgl1", "libEGL.so.1": "libegl1", "libmtdev.so.1": "libmtdev1"}
if sys.platform.startswith("linux"):
    for library, package in needed.items():
        try:
            ctypes.CDLL(library)
        except OSError:
            print(package)
PY
)
    # shellcheck disable=SC2086
    [ -z "$missing" ] || need_packages $missing
}

need_witnesses() {  # programs that tests ask; without them these tests are skipped
    local missing=""
    command -v soffice >/dev/null || missing+=" libreoffice-calc"  # what it makes of a bundle's tables
    command -v strace >/dev/null || missing+=" strace"  # whether a socket opens
    command -v java >/dev/null || missing+=" default-jre-headless"  # the distributed SQL engine runs on it
    command -v chromium >/dev/null || missing+=" chromium"  # how a browser shows a page to be mailed
    # The sources of a reader of metadata: their tests bring pictures and metadata of some fifty real cameras.
    [ -d /usr/share/gocode/src/github.com/rwcarlsen/goexif ] || missing+=" golang-github-rwcarlsen-goexif-dev"
    # shellcheck disable=SC2086
    [ -z "$missing" ] || need_packages $missing ||
        echo "$missing cannot be installed; the tests that need them are skipped." >&2
}

need_packages() {
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        apt-get update -qq
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >/dev/null
    else
        echo "walkapp may need these system packages: $* (for example: sudo apt-get install $*)" >&2
    fi
}
