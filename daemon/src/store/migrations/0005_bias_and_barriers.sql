-- What the live filter knew of each gyroscope's bias at the end of each span, and the barriers of a
-- contraction on the way to an end range.

-- Of samples as they were analysed: beside what the calibration takes out, if there is one.
-- learnt_at_s is when rest last showed it; before any rest the part about the vertical is not known.
CREATE TABLE gyro_bias (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL,
    role TEXT NOT NULL,
    strap_epoch INTEGER NOT NULL,
    at_s REAL NOT NULL,
    x_rad_s REAL NOT NULL,
    y_rad_s REAL NOT NULL,
    z_rad_s REAL NOT NULL,
    x_sd_rad_s REAL NOT NULL CHECK (x_sd_rad_s > 0),
    y_sd_rad_s REAL NOT NULL CHECK (y_sd_rad_s > 0),
    z_sd_rad_s REAL NOT NULL CHECK (z_sd_rad_s > 0),
    learnt_at_s REAL CHECK (learnt_at_s <= at_s),
    algorithm_version TEXT NOT NULL CHECK (length(algorithm_version) > 0),
    FOREIGN KEY (visit, role, strap_epoch)
        REFERENCES visit_sensor (visit, role, strap_epoch) ON DELETE CASCADE
) STRICT;
CREATE INDEX gyro_bias_strap ON gyro_bias (visit, role, strap_epoch);

-- Angles along the repetition's direction; null where no contraction was seen on the way.
ALTER TABLE repetition_value ADD COLUMN barrier_start_deg REAL;
ALTER TABLE repetition_value ADD COLUMN barrier_end_deg REAL;
ALTER TABLE repetition_value ADD COLUMN barrier_start_s REAL;
ALTER TABLE repetition_value ADD COLUMN barrier_end_s REAL;
