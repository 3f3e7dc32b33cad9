#!/usr/bin/env bash
# A whole visit over the real bluetoothd and the kernel's Bluetooth, without hardware: README.md.
# visit.sh [reference|PROFILE.toml] [FAULTS]
set -euo pipefail
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)"
: "${ENDARC_REALBLUEZ:?the folder whose run.sh boots bluetoothd with virtual sensors in range}"
profile="${1:-reference}"
faults="${2:-$here/faults.txt}"
cd "$here/../.."
programs="${ENDARC_PROGRAMS:-}"
if [[ -z "$programs" ]]; then
  cargo build --package endarc --package endarc-tests --bins
  programs="${CARGO_TARGET_DIR:-$PWD/target}/debug"
fi

work="$(mktemp -d)"
trap 'rm -rf "$work"' EXIT
if [[ "$profile" == reference ]]; then
  profile=protocol/profiles/reference.toml
fi
# The virtual sensors' own control characteristic, in the one service that they have.
sed -e 's/^name = "\(.*\)"/name = "\1-vm"/' \
  -e 's/30b4d252-f415-464f-9227-b059c98730d7/6e1f0003-52a1-4f7b-9d3c-0b5a1c0de001/' \
  "$profile" > "$work/profile.toml"
name="$(sed -n 's/^name = "\(.*\)"/\1/p' "$work/profile.toml")"
uuid() { sed -n "s/^$1 = \"\(.*\)\"/\1/p" "$work/profile.toml" | head -1; }

"$programs/endarc" simulate "$here/visit.toml" --output "$work/visit" --frames "$work/profile.toml"
"$ENDARC_REALBLUEZ/run.sh" --devices 3 --frames "$work/visit" --service "$(uuid service)" \
  --data "$(uuid characteristic)" --timeout 900 ${ENDARC_REALBLUEZ_LOGS:+--logs} \
  "$programs/endarc" "$programs/radio_visit" "$work/profile.toml" "$work/visit/events.csv" \
  "$work/visit/truth.json" "$faults" "$here/in-the-vm.sh" "$here/restart-bluetoothd.sh" \
  -- "mv $(basename "$faults") faults.txt 2>/dev/null; sh in-the-vm.sh $name"
