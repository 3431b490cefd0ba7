#!/usr/bin/env bash
# The first five minutes of a storefront's developer, as a script: a service, an order, a true pattern, the
# same order again, a wrong one, a webhook on her own machine, the documentation. It fails at the first
# thing that is not as the documentation says, and when all of it takes a minute or more.
#
# Needs curl, python3 and Debian's python3-fitz. SIZERUN names a program that is built already.
set -euo pipefail
cd "$(dirname "$0")/.."

work=$(mktemp -d)
pids=()
end() {
	for p in "${pids[@]}"; do kill "$p" 2>/dev/null || true; done
	wait 2>/dev/null || true
	rm -rf "$work"
}
trap end EXIT
fail() { echo "FAILED: $*" >&2; exit 1; }
# until_true SECONDS COMMAND…: the command holds before the time is over.
until_true() {
	local deadline=$((SECONDS + $1)); shift
	until "$@" >/dev/null 2>&1; do
		[ "$SECONDS" -lt "$deadline" ] || fail "it did not happen in time: $*"
		sleep 0.1
	done
}
# field FILE EXPRESSION: a part of a JSON document, d.
field() { python3 -c 'import json, sys; d = json.load(open(sys.argv[1])); print(eval(sys.argv[2]))' "$1" "$2"; }
python=/usr/bin/python3 # Debian's, which has Debian's modules
[ -x "$python" ] || python=python3

if [ -z "${SIZERUN:-}" ]; then
	SIZERUN=$work/sizerun
	go build -o "$SIZERUN" ./cmd/sizerun
fi
began=$SECONDS

echo "1. one command: a service, and a key that is printed once"
port=$($python -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
base=http://127.0.0.1:$port
SIZERUN_ADDR=127.0.0.1:$port SIZERUN_DATA=$work/data "$SIZERUN" serve --demo >"$work/serve.out" 2>"$work/serve.log" &
pids+=($!)
until_true 20 curl -fsS "$base/readyz"
key=$(sed -n 's/^the key of .*: \(szr_.*\)$/\1/p' "$work/serve.out")
[ -n "$key" ] || fail "no key was printed"

echo "2. an order, and the answer when it is made"
order() {
	curl -sS -o "$1" -w '%{http_code}' "$base/v1/runs" -H "Authorization: Bearer $key" -H 'Content-Type: application/json' \
		-H 'Prefer: wait=20' -H "Idempotency-Key: $2" -d "$3"
}
design='{"style": "wren-petal", "sizes": ["14"], "outputs": [{"paper": "A4"}], "stamp": "Order 1001"}'
status=$(order "$work/run.json" order-1001 "$design")
[ "$status" = 201 ] || fail "the order is answered with $status: $(cat "$work/run.json")"
[ "$(field "$work/run.json" 'd["state"]')" = done ] || fail "the run is not done: $(cat "$work/run.json")"

echo "3. a real PDF, whose test square measures 50 mm"
url=$(field "$work/run.json" '[f["url"] for f in d["files"] if f["name"].endswith(".pdf")][0]')
curl -fsS -H "Authorization: Bearer $key" -o "$work/pattern.pdf" "$base$url"
"$python" - "$work/pattern.pdf" "$(field "$work/run.json" '[f["sha256"] for f in d["files"] if f["name"].endswith(".pdf")][0]')" <<'PY'
import hashlib, sys
import fitz

path, sha256 = sys.argv[1:]
assert hashlib.sha256(open(path, "rb").read()).hexdigest() == sha256, "the file is not the one that the run names"
document = fitz.open(path)
first = document[0]
rects = [d["rect"] for d in first.get_drawings() if d["type"] != "f"]
sides = sorted({round(r.width * 25.4 / 72, 3) for r in rects if abs(r.width - r.height) < 0.1})
assert any(abs(s - 50) <= 0.05 for s in sides), f"no square of 50 mm among {sides}"
assert any(abs(s - 50.8) <= 0.05 for s in sides), f"no square of 2 in among {sides}"
print("   measured:", [s for s in sides if 49 < s < 52], "mm")
PY

echo "4. the same request again is the same run"
status=$(order "$work/again.json" order-1001 "$design")
[ "$status" = 201 ] || fail "the same order is answered with $status: $(cat "$work/again.json")"
[ "$(field "$work/run.json" 'd["id"]')" = "$(field "$work/again.json" 'd["id"]')" ] || fail "it made another run"

echo "5. a wrong request is told the place, what would do, and a remedy"
status=$(order "$work/wrong.json" order-1002 '{"style": "wren-petal", "sizes": ["15"]}')
[ "$status" = 422 ] || fail "a wrong order is answered with $status: $(cat "$work/wrong.json")"
field "$work/wrong.json" '"   {0[pointer]}: {0[detail]}; valid: {0[valid]}; {0[remedy]}".format(d["errors"][0])'
[ "$(field "$work/wrong.json" 'd["errors"][0]["pointer"]')" = /sizes/0 ] || fail "the place is not named"
curl -fsS -o "$work/problem.html" "$(field "$work/wrong.json" 'd["type"]')"
grep -q '<h1>' "$work/problem.html" || fail "the problem's type opens no page"

echo "6. webhooks on a developer's machine, verified"
"$python" deploy/receiver.py "$work/secret" "$work/port" >"$work/received" 2>"$work/receiver.log" &
receiver=$!
pids+=("$receiver")
until_true 10 test -s "$work/port"
# An event shows two seconds after it happened; the first order's is not the one that is waited for.
shown() { curl -fsS -H "Authorization: Bearer $key" "$base/v1/events" | grep -q "$1"; }
until_true 10 shown "$(field "$work/run.json" 'd["id"]')"
SIZERUN_KEY=$key "$SIZERUN" listen --url "$base" --forward "http://127.0.0.1:$(cat "$work/port")/hooks" --every 200ms --count 1 >"$work/listen.out" 2>&1 &
pids+=($!)
until_true 10 grep -q '^forwarding to' "$work/listen.out"
sed -n 's/^the secret: //p' "$work/listen.out" >"$work/secret"
grep -q '^whsec_' "$work/secret" || fail "no secret was printed: $(cat "$work/listen.out")"
status=$(order "$work/second.json" order-1003 '{"style": "wren-petal", "sizes": ["12"], "external_id": "1003"}')
[ "$status" = 201 ] || fail "the second order is answered with $status: $(cat "$work/second.json")"
wait "$receiver" || fail "the webhook was not taken: $(cat "$work/received" "$work/receiver.log" "$work/listen.out")"
grep -q "$(field "$work/second.json" 'd["id"]') verified" "$work/received" || fail "another run was told of: $(cat "$work/received")"
sed 's/^/   /' "$work/received"

echo "7. the documentation in a browser"
curl -fsS -o "$work/docs.html" "$base/docs"
for words in 'id="submitRun"' 'id="change-petal"' 'problems/invalid' 'webhook-signature'; do
	grep -q "$words" "$work/docs.html" || fail "the documentation lacks $words"
done

took=$((SECONDS - began))
[ "$took" -lt 60 ] || fail "it took $took s"
echo "all as it should be, in $took s"
