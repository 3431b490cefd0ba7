#!/usr/bin/env bash
# The tests, servers included, on a Debian machine: `deploy/test.sh` and nothing before it.
#
# Installs what the tests need (PostgreSQL, Redis, PDF readers, GEOS, interpreters of the snippets), then runs everything with
# REQUIRE_SERVICES=1, under which a test that lacks its server or witness fails instead of being
# skipped. The servers are private: each test package starts its own on a Unix socket in a
# temporary folder and stops it again; a PostgreSQL or Redis that already runs is never touched.
#
# Environment: SKIP_INSTALL=1 leaves the machine's packages alone. GO_TEST_FLAGS adds flags.
set -euo pipefail
cd "$(dirname "$0")/.."

packages=(postgresql redis-server libpaper-utils python3-fitz python3-shapely python3-numpy mupdf-tools qpdf poppler-utils librsvg2-bin git ca-certificates gcc libc6-dev curl nodejs php-cli sqlite3 prometheus systemd)

missing=()
for p in "${packages[@]}"; do
	dpkg-query -W -f='${Status}' "$p" 2>/dev/null | grep -q 'ok installed' || missing+=("$p")
done
if [ "${#missing[@]}" -gt 0 ] && [ "${SKIP_INSTALL:-}" != 1 ]; then
	sudo=""
	[ "$(id -u)" = 0 ] || sudo=sudo
	echo "installing: ${missing[*]}"
	# A distribution's packages may start their servers on install; the tests don't use those.
	$sudo apt-get update -qq
	DEBIAN_FRONTEND=noninteractive $sudo apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
fi

export REQUIRE_SERVICES=1
echo "go test, all packages, PostgreSQL and Redis included"
# shellcheck disable=SC2086
go test ${GO_TEST_FLAGS:-} ./...
if [ -f internal/write/pdf/witness/go.mod ]; then
	echo "go test, PDF validators (a module of its own, so that the service does not carry them)"
	(cd internal/write/pdf/witness && go test ./...)
fi
