# Installs the Debian packages that are missing; sourced by the other scripts.
# need WHY package...

need() {
  why=$1
  shift
  missing=
  for package in "$@"; do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
  done
  [ -z "$missing" ] && return 0
  if ! command -v apt-get >/dev/null 2>&1; then
    echo "Please install$missing ($why): this system has no apt-get." >&2
    exit 1
  fi
  echo "Installing$missing ($why)" >&2
  sudo=
  [ "$(id -u)" -eq 0 ] || sudo=sudo
  $sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing >/dev/null 2>&1 || {
    $sudo apt-get update >/dev/null
    $sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing >/dev/null
  }
}

need_to_build() {
  need 'to build' gcc libc6-dev meson ninja-build pkg-config libglib2.0-dev libglib2.0-dev-bin libsuitesparse-dev \
    libcairo2-dev libpango1.0-dev libjansson-dev libqrencode-dev libmicrohttpd-dev libgdk-pixbuf-2.0-dev fonts-b612 fonts-dejavu-core
}

need_to_test() {
  need 'to test' clang clang-format libclang-rt-14-dev libngspice0-dev libsundials-dev valgrind poppler-utils qpdf gettext zbar-tools git mandoc bsdextrautils jq python3-minimal
  need 'to look at pages' chromium firefox-esr
  command -v node >/dev/null 2>&1 && command -v npm >/dev/null 2>&1 || need 'to look at pages' nodejs npm
}
