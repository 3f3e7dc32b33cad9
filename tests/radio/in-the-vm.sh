#!/bin/sh
# Runs beside the programs and files that visit.sh brings: assigns the sensors, records the visit.
# in-the-vm.sh PROFILE: the profile's name.
set -e
export HOME="$PWD" XDG_CONFIG_HOME="$PWD/config" ENDARC_LOG=info
mkdir -p config/endarc/profiles
cp profile.toml config/endarc/profiles/
./endarc check --data-dir data
i=0
for role in left-shank right-shank pelvis; do
  ./endarc sensors assign "F0:0D:00:00:00:0$i" "$role" --profile "$1" --unconfirmed --data-dir data
  i=$((i + 1))
done
./endarc sensors list --data-dir data
exec ./radio_visit ./endarc . faults.txt
