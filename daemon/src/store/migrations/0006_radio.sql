-- What a radio adds: which sensor is worn where, what sensors say of themselves, why samples are
-- missing.

INSERT INTO gap_cause VALUES ('silent'), ('host-asleep'), ('malformed');

INSERT INTO sensor_role VALUES ('left-thigh'), ('right-thigh');

-- The name a sensor was given here, beside the one it gives itself.
ALTER TABLE sensor ADD COLUMN given_name TEXT CHECK (length(given_name) BETWEEN 1 AND 64);
-- What it says of itself (device information and battery services).
ALTER TABLE sensor ADD COLUMN manufacturer TEXT;
ALTER TABLE sensor ADD COLUMN model TEXT;
ALTER TABLE sensor ADD COLUMN firmware TEXT;
ALTER TABLE sensor ADD COLUMN battery_percent INTEGER CHECK (battery_percent BETWEEN 0 AND 100);
ALTER TABLE sensor ADD COLUMN battery_at TEXT;

-- Which sensor is worn where, by address; kept until it is assigned elsewhere or forgotten.
CREATE TABLE assignment (
    role TEXT PRIMARY KEY REFERENCES sensor_role,
    sensor INTEGER NOT NULL UNIQUE REFERENCES sensor ON DELETE CASCADE,
    profile TEXT NOT NULL,
    assigned_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;
