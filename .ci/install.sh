#!/usr/bin/env bash
# Installs the program as a user does and runs it where nothing of the repository is:
# templates, schemas and starter files must be inside it.
set -euo pipefail
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cargo install --quiet --locked --path . --root "$work/program"
cp orders/forecast.json "$work/"
cd "$work"
run() { env -i PATH="$work/program/bin:/usr/bin:/bin" HOME="$work" fairday "$@" || [ $? -eq 1 ]; }
run new studio --today 2026-05-11
cp forecast.json studio/
printf 'forecast: forecast.json\ntoday: 2026-05-11 07:00\n' >> studio/studio.yaml
run check --dir studio
run plan --dir studio > plan.txt
run notices --dir studio > letters.txt
run send --dir studio
run sheet --dir studio
run card 2026-001 --dir studio
run certificate 2026-001 --dir studio
run calendar --dir studio
grep -q 'Ada Lindqvist' letters.txt
ls studio/outbox/*.eml > /dev/null
ls studio/sheets/*.html studio/sheets/*.ics
echo "installed, and ran outside of the repository"
