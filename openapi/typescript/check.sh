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
pids=("$served")
trap 'kill "${pids[@]}" 2>/dev/null || true; wait 2>/dev/null || true; rm -rf "$work"' EXIT
until_true() {
	local deadline=$((SECONDS + 30))
	until "$@" >/dev/null 2>&1; do
		[ "$SECONDS" -lt "$deadline" ] || { echo "it did not happen in time: $*" >&2; cat "$work/log" >&2; exit 1; }
		sleep 0.1
	done
}
until_true curl -fsS "http://127.0.0.1:$port/readyz"
# What was compiled finds its modules as it would here.
echo '{"type":"module"}' >"$work/package.json"
ln -s "$PWD/node_modules" "$work/node_modules"
export SIZERUN_URL=http://127.0.0.1:$port SIZERUN_KEY
SIZERUN_KEY=$(sed -n 's/^the key of .*: //p' "$work/out")

# The webhook of the sample's order, as the service signs it, is verified by the public library.
node "$work/dist/receive.js" "$work/secret" "$work/port" &
receiver=$!
pids+=("$receiver")
until_true test -s "$work/port"
"$SIZERUN" listen --url "$SIZERUN_URL" --forward "http://127.0.0.1:$(cat "$work/port")/" --every 200ms --count 1 >"$work/listen" 2>&1 &
pids+=($!)
until_true grep -q '^forwarding to' "$work/listen"
sed -n 's/^the secret: //p' "$work/listen" >"$work/secret"
node "$work/dist/sample.js"
timeout 20 tail --pid="$receiver" -f /dev/null || { echo "no webhook came" >&2; exit 1; }
wait "$receiver"
