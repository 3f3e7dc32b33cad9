-- Calibrations of sensors and the tilt of treatment tables, each with its history: the newest holds.

-- What one sensor's own errors were found to be. `numbers` is the JSON object that
-- `endarc sensors calibrate --json` prints: they mean something only together.
CREATE TABLE calibration (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    sensor INTEGER NOT NULL REFERENCES sensor,
    calibrated_at TEXT NOT NULL,
    temperature_c REAL CHECK (temperature_c BETWEEN -40 AND 85),
    numbers TEXT NOT NULL CHECK (json_valid(numbers))
) STRICT;
CREATE INDEX calibration_sensor ON calibration (sensor);

-- The calibration with which a sensor's samples of this visit were corrected; the samples
-- themselves are kept as they came.
ALTER TABLE visit_sensor ADD COLUMN calibration INTEGER REFERENCES calibration;

CREATE TABLE treatment_table (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(name) BETWEEN 1 AND 64)
) STRICT;

-- sideways_deg is positive where the left side of a prone person is higher, head_foot_deg where the
-- head end is.
CREATE TABLE table_level (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    treatment_table INTEGER NOT NULL REFERENCES treatment_table ON DELETE CASCADE,
    levelled_at TEXT NOT NULL,
    method TEXT NOT NULL CHECK (method IN ('turned', 'one-rest')),
    sideways_deg REAL NOT NULL CHECK (sideways_deg BETWEEN -90 AND 90),
    sideways_sd_deg REAL NOT NULL CHECK (sideways_sd_deg > 0),
    head_foot_deg REAL NOT NULL CHECK (head_foot_deg BETWEEN -90 AND 90),
    head_foot_sd_deg REAL NOT NULL CHECK (head_foot_sd_deg > 0)
) STRICT;
CREATE INDEX table_level_table ON table_level (treatment_table);
