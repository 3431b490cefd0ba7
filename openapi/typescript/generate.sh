#!/usr/bin/env bash
# Makes src/schema.d.ts anew from the contract. Run it after the contract was changed, and commit both.
set -euo pipefail
cd "$(dirname "$0")"
trap 'rm -f contract.json' EXIT
go run ./contract >contract.json
[ -d node_modules ] || npm ci --ignore-scripts --no-audit --no-fund --silent
npm run --silent generate
