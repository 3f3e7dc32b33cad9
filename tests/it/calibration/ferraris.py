"""Calibrates with imucal (Ferraris' method) what the test wrote; prints what came out as JSON.

Usage: ferraris.py SECTIONS.json RESTS.csv; SECTIONS.json holds [[name, first row, row after], …].
"""

import json
import sys

import numpy as np
from imucal import FerrarisCalibration
from imucal.ferraris_calibration import FerrarisSignalRegions

GRAVITY_M_S2 = 9.80665
RATE_HZ = 100

sections = json.load(open(sys.argv[1]))
rows = np.loadtxt(sys.argv[2], delimiter=",", skiprows=1)
regions = {}
for name, first, after in sections:
    part = rows[first:after]
    regions["acc_" + name] = part[:, 1:4]
    regions["gyr_" + name] = np.degrees(part[:, 4:7])
found = FerrarisCalibration(grav=GRAVITY_M_S2).compute(
    FerrarisSignalRegions(**regions), RATE_HZ, from_acc_unit="m/s^2", from_gyr_unit="deg/s"
)
accel, rate = found.calibrate(rows[:, 1:4], np.degrees(rows[:, 4:7]), "m/s^2", "deg/s")
json.dump(
    {
        "accel_offset_m_s2": found.b_a.tolist(),
        "accel_matrix": (np.linalg.inv(found.R_a) @ np.linalg.inv(found.K_a)).tolist(),
        "gyro_offset_rad_s": np.radians(found.b_g).tolist(),
        "corrected": accel[::50].tolist(),
    },
    sys.stdout,
)
