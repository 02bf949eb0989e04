#!/usr/bin/env bash
# Measures the check against reading alone and against what others would put
# together in Python and JavaScript: one run, from a machine with Rust on it.
#
#     benches/run.sh [--records 10000] [--seed 1] [--rounds 7]
#
# Exit code 1 if a target is missed. Other work on the machine spoils the figures.
set -euo pipefail
cd "$(dirname "$0")/.."

step() { printf '== %s\n' "$*"; }

need=()
command -v cc >/dev/null || need+=(gcc libc6-dev)
command -v python3 >/dev/null || need+=(python3)
python3 -c 'import venv, ensurepip' 2>/dev/null || need+=(python3-venv)
command -v node >/dev/null || need+=(nodejs)
command -v npm >/dev/null || need+=(npm)
if [ "${#need[@]}" -gt 0 ]; then
    step "what it needs: ${need[*]}"
    export DEBIAN_FRONTEND=noninteractive
    apt-get update -q
    apt-get install -yq --no-install-recommends ca-certificates "${need[@]}"
fi

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# Cargo says itself where it put a program.
executable() {
    python3 -c '
import json, sys
for line in sys.stdin:
    told = json.loads(line)
    if told.get("reason") == "compiler-artifact" and told["target"]["name"] == sys.argv[1] and told.get("executable"):
        print(told["executable"])
' "$1"
}

step "the program, as it is released"
matchmark=$(cargo build --release --locked --bin matchmark --message-format=json | executable matchmark)
step "reading alone"
reading=$(cargo bench --locked --bench reading --no-run --message-format=json | executable reading)

step "the peers"
python3 -m venv "$work/venv"
"$work/venv/bin/pip" install -q --disable-pip-version-check -r benches/peers/requirements.txt
cp benches/peers/package.json benches/peers/package-lock.json benches/peers/check.mjs "$work/"
npm --prefix "$work" ci --silent --no-audit --no-fund

# A target that is missed keeps none of the others from being measured.
missed=0
step "measuring"
"$work/venv/bin/python" benches/run.py --matchmark "$matchmark" --reading "$reading" --work "$work" "$@" || missed=1
step "commits"
"$work/venv/bin/python" benches/commits.py --matchmark "$matchmark" --work "$work" || missed=1
step "changes, sessions and trails on a long history"
"$work/venv/bin/python" benches/changes.py --matchmark "$matchmark" --reading "$reading" --work "$work" || missed=1
exit $missed
