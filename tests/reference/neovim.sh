#!/usr/bin/env bash
# Drives the language server from Neovim, headless: `neovim.sh PROGRAM`.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
program=$(realpath "$1")
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

cat >"$folder/kits.lay" <<'PLAN'
kit W-20 "Bench kit" {
  output 20 W at 230 V
  length 2 m
}
PLAN
cat >"$folder/bath.lay" <<'PLAN'
use "kits.lay"

room bath "Bathroom" {
  outline  (0, 0) (1000, 0) (1000, 300) (0, 300)
  wall  1 "Süd 🜂" outside
  cable a {
    kit    W-20
    start  (100, 40)
    run    east 800
    run    north 100
    run    west 800
  }
}
PLAN
printf 'amend wall-clearanze {\n  severity warning\n}\n' >"$folder/ours.rule"

PATH="$(dirname "$program"):$PATH" HOME="$folder" XDG_STATE_HOME="$folder/state" README="$here/../../README.md" PLANS="$folder" \
  timeout 100 nvim --headless --clean -n -i NONE -S "$here/neovim.lua"
# What the editor wrote is a plan, and in canonical form.
"$program" check "$folder/laid-out.lay" --date 2026-11-25 >"$folder/found" || [ $? -eq 1 ]
grep -q 'boxed pipe' "$folder/laid-out.lay"
"$program" tidy --check "$folder/laid-out.lay"
