#!/usr/bin/env bash
# The generated client is that of the contract as it is now, the sample compiles by the strictest rules, and
# it works against a real service. SIZERUN names a program that is built already.
set -euo pipefail
cd "$(dirname "$0")"
npm ci --ignore-scripts --no-audit --no-fund --silent
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp src/schema.d.ts "$work/before"
./generate.sh >/dev/null
if ! diff -u "$work/before" src/schema.d.ts >"$work/drift"; then
	head -60 "$work/drift"
	echo "the contract and the generated client differ: openapi/typescript/generate.sh has now made it anew, commit it" >&2
	exit 1
fi
npx --no-install tsc --outDir "$work/dist" --rootDir src

if [ -z "${SIZERUN:-}" ]; then
	SIZERUN=$work/sizerun
	go build -o "$SIZERUN" ../../cmd/sizerun
fi
port=$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
SIZERUN_ADDR=127.0.0.1:$port SIZERUN_DATA=$work/data "$SIZERUN" serve --demo >"$work/out" 2>"$work/log" &
served=$!
trap 'kill $served 2>/dev/null; wait $served 2>/dev/null; rm -rf "$work"' EXIT
deadline=$((SECONDS + 20))
until curl -fsS "http://127.0.0.1:$port/readyz" >/dev/null 2>&1; do
	[ "$SECONDS" -lt "$deadline" ] || { cat "$work/log"; exit 1; }
	sleep 0.1
done
# What was compiled finds its modules as it would here.
echo '{"type":"module"}' >"$work/package.json"
ln -s "$PWD/node_modules" "$work/node_modules"
SIZERUN_URL=http://127.0.0.1:$port SIZERUN_KEY=$(sed -n 's/^the key of .*: //p' "$work/out") node "$work/dist/sample.js"
