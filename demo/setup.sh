# Brings this checkout to where it can build, and be tested, on a fresh Debian machine with Python.
# Sourced by demo/run and tests/run, which call `set_up demo` or `set_up test`.
#
# Everything goes into git-ignored folders of the checkout, except Debian's packages. A part that
# can't be had costs one line saying what is lacking and what that means; only Python and the
# packages that every build imports are indispensable. Where nothing is missing it takes a blink.

root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)
venv=$root/.venv
venv_python=$venv/bin/python
node_tools=$root/tests/.tools
PATH=$PATH:/usr/games:/usr/sbin:/sbin   # where Debian keeps stockfish and ldconfig

# what is looked for | Debian's package | what its absence means
demo_needs='
libpango-1.0.so.0       | libpango-1.0-0      | the PDF will not be built
libpangoft2-1.0.so.0    | libpangoft2-1.0-0   | the PDF will not be built
libharfbuzz-subset.so.0 | libharfbuzz-subset0 | the PDF will not be built'
test_needs="$demo_needs
pdftotext | poppler-utils        | tests that read the PDF will be skipped
qpdf      | qpdf                 | the outside check of the PDF will be skipped
stockfish | stockfish            | tests with a real engine will be skipped
chromium  | chromium             | tests of pages in a browser will be skipped
libatomic.so.1 | libatomic1      | tests of pages in a browser will be skipped
node      | nodejs               | checks against other rules libraries will be skipped
npm       | npm                  | checks against other rules libraries will be skipped
java      | default-jre-headless | the outside checks of the HTML and the EPUB will be skipped"

say() { printf '%s\n' "$*"; }
lacking() { printf 'Lacking: %s\n' "$*" >&2; }
last_error() { grep -iE '^(E|error): ' "$set_up_log" | tail -n 1 | grep . || tail -n 1 "$set_up_log"; }

# set_up demo|test: fails only where nothing could be built at all.
set_up() {
    local part=$1 needs=$1_needs
    set_up_log=$(mktemp)
    trap 'rm -f -- "$set_up_log"' EXIT
    find_python && install_debian_packages "${!needs}" && make_venv \
        && install_python_packages "$part" || return 1
    [ "$part" = demo ] || install_node_packages
}

# Sets base_python to the first Python that is new enough.
find_python() {
    local name found=
    for name in python3 python3.14 python3.13 python3.12 python3.11; do
        command -v "$name" >/dev/null || continue
        found=${found:-$("$name" --version 2>&1)}
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            base_python=$name
            return
        fi
    done
    lacking "Python 3.11 or newer (${found:-no python3 on the PATH}), so nothing can be built."
    return 1
}

# is_here NAME: whether a shared library, the means to make a venv, or a program is on the machine.
is_here() {
    case $1 in
        *.so.*) [[ $libraries == *"$1 "* ]] ;;
        ensurepip) has_venv || "$base_python" -c 'import ensurepip' 2>/dev/null ;;
        *) command -v "$1" >/dev/null ;;
    esac
}

# missing NEEDS: the lines of NEEDS that are not met.
missing() {
    local libraries name package meaning
    libraries=$(ldconfig -p 2>/dev/null)
    while IFS='|' read -r name package meaning; do
        name=${name// /} package=${package// /}
        [ -z "$name" ] || is_here "$name" || printf '%s|%s|%s\n' "$name" "$package" "$meaning"
    done <<<"$1"
}

# install_debian_packages NEEDS: always succeeds; what stays missing is said.
install_debian_packages() {
    local needs lines packages package why meaning
    needs="ensurepip|$base_python-venv| nothing can be built$1"
    lines=$(missing "$needs")
    [ -n "$lines" ] || return 0
    packages=$(cut -d'|' -f2 <<<"$lines" | sort -u)
    if ! command -v apt-get >/dev/null; then
        why='no apt-get here'
    elif [ "$(id -u)" != 0 ] && ! sudo -n true 2>/dev/null; then
        why='neither root nor sudo without a password'
    else
        say "Installing from Debian:" $packages
        as_root apt-get update -qq
        # One package that can't be had must not keep the others away.
        as_root apt-get install $packages || for package in $packages; do
            as_root apt-get install "$package"
        done
        why="apt-get: $(last_error)"
        lines=$(missing "$needs")
    fi
    [ -n "$lines" ] || return 0
    while read -r meaning; do
        packages=$(grep -F "| $meaning" <<<"$lines" | cut -d'|' -f2 | sort -u)
        lacking "from Debian:" $packages "($why): $meaning."
    done < <(cut -d'|' -f3 <<<"$lines" | sort -u)
}

# as_root apt-get ACTION …: without questions, its words kept in the log.
as_root() {
    local sudo=()
    [ "$(id -u)" = 0 ] || sudo=(sudo -n)
    "${sudo[@]}" env DEBIAN_FRONTEND=noninteractive \
        "$1" -y -q --no-install-recommends -o DPkg::Lock::Timeout=300 "${@:2}" \
        >>"$set_up_log" 2>&1 </dev/null
}

# A half-made one, or one whose Python is gone (the system's was renewed), does not count.
has_venv() { [ -x "$venv/bin/pip" ] && "$venv_python" -c '' 2>/dev/null; }

make_venv() {
    has_venv && return
    is_here ensurepip || return 1   # said already
    "$base_python" -m venv --clear "$venv" >>"$set_up_log" 2>&1 </dev/null && return
    lacking "a virtual environment ($base_python -m venv: $(last_error)), so nothing can be built."
    return 1
}

# install_python_packages demo|test
install_python_packages() {
    local what=$root
    [ "$1" = demo ] || what="$root[test]"
    up_to_date "$venv/.ready-$1" "$root/pyproject.toml" && return
    say "Installing Python packages into .venv"
    if "$venv_python" -m pip install --disable-pip-version-check --quiet --editable "$what" \
            >>"$set_up_log" 2>&1 </dev/null; then
        mark_up_to_date "$venv/.ready-$1" "$root/pyproject.toml"
        return
    fi
    lacking "Python packages (pip: $(last_error))."
    if [ "$1" = demo ]; then
        "$venv_python" -c 'import chess, jinja2, mistune' 2>/dev/null && return
        say "Without them nothing can be built." >&2
    else
        "$venv_python" -c 'import chess, hypothesis, jinja2, mistune, pytest' 2>/dev/null && return
        say "Without them nothing can be tested." >&2
    fi
    return 1
}

# Always succeeds: the tests that need these are skipped without them.
install_node_packages() {
    local lists=("$root/tests/setup/package.json" "$root/tests/setup/package-lock.json")
    up_to_date "$node_tools/.ready" "${lists[@]}" && return
    is_here npm || return 0
    say "Installing outside checkers into tests/.tools"
    mkdir -p "$node_tools" && cp "${lists[@]}" "$node_tools"
    if (cd "$node_tools" && npm ci --ignore-scripts --no-audit --no-fund) \
            >>"$set_up_log" 2>&1 </dev/null; then
        mark_up_to_date "$node_tools/.ready" "${lists[@]}"
    else
        lacking "npm packages (npm ci failed): checks against other programs will be skipped."
    fi
}

# up_to_date MARK FILE…: whether MARK was made for these files as they are, in this very place.
up_to_date() { [ -f "$1" ] && [ "$(<"$1")" = "$(fingerprint "${@:2}")" ]; }
mark_up_to_date() { fingerprint "${@:2}" >"$1"; }
fingerprint() { printf '%s ' "$root"; cat -- "$@" | sha256sum; }
