#!/bin/sh
# Kills the Bluetooth service, and starts it again two seconds later.
kill -9 "$(cat /run/bluetoothd.pid)"
sleep 2
/usr/libexec/bluetooth/bluetoothd -n >> /run/bluetoothd.log 2>&1 &
echo $! > /run/bluetoothd.pid
