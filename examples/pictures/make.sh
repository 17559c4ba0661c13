#!/usr/bin/env bash
# Makes the two pictures of the README from a real sheet. Needs pdftoppm (Debian's poppler-utils).
set -eu
cd "$(dirname "$0")/../.."
flangewise="${FLANGEWISE:-.venv/bin/flangewise}"
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
"$flangewise" --quiet sheet examples/parts/zed.yaml -o "$folder"
for page in 1 2; do
    pdftoppm -png -gray -r 90 -f "$page" -l "$page" -singlefile "$folder/rain-gauge-foot.pdf" "examples/pictures/sheet-page-$page"
done
