-- The first shape of the database.
--
-- Times: *_s are seconds of visit time (the monotonic clock of the recording), *_at are UTC as
-- RFC 3339 text ending in Z, with the local offset (and zone, where known) beside the times of a
-- visit. Order by id, never by wall time: clocks are put right now and then.
-- Angles are degrees. Closed lists of words are CHECKs; lists that grow are tables of words, so
-- that a new word is one INSERT in a later step.
-- Whatever belongs to a visit goes with it (ON DELETE CASCADE), and a visit goes with its person.

PRAGMA application_id = 0x656e6461; -- "enda"

CREATE TABLE test (word TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
INSERT INTO test VALUES ('prone-hip-rotation');

CREATE TABLE direction (word TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
INSERT INTO direction VALUES ('internal'), ('external');

CREATE TABLE sensor_role (word TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
INSERT INTO sensor_role VALUES ('left-shank'), ('right-shank'), ('pelvis');

CREATE TABLE end_criterion (word TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
INSERT INTO end_criterion VALUES
    ('first-resistance'), ('pelvis-moves'), ('pain'), ('person-says-stop');

CREATE TABLE gap_cause (word TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
INSERT INTO gap_cause VALUES
    ('link-lost'), ('samples-missing'), ('samples-rejected'), ('sensor-restarted'), ('overrun'), ('not-saved');

-- The one being treated or studied. A code, never a name.
CREATE TABLE person (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    code TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(code) BETWEEN 1 AND 32),
    created_at TEXT NOT NULL
) STRICT;

-- Who moves the limb. A code, never a name.
CREATE TABLE rater (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    code TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(code) BETWEEN 1 AND 32)
) STRICT;

-- One attendance of one person. `uid` tells visits of many sites apart.
CREATE TABLE visit (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    uid TEXT NOT NULL UNIQUE DEFAULT (lower(hex(randomblob(16)))),
    person INTEGER NOT NULL REFERENCES person ON DELETE CASCADE,
    test TEXT NOT NULL REFERENCES test,
    source TEXT NOT NULL CHECK (source IN ('ble', 'sim', 'replay')),
    state TEXT NOT NULL CHECK (state IN ('open', 'closed', 'interrupted', 'truncated')),
    started_at TEXT NOT NULL,
    started_offset_s INTEGER NOT NULL CHECK (started_offset_s BETWEEN -93599 AND 93599),
    started_zone TEXT,
    started_s REAL NOT NULL,
    ended_at TEXT,
    ended_s REAL CHECK (ended_s >= started_s),
    clock_corrected_s REAL,
    table_tilt_deg REAL CHECK (table_tilt_deg BETWEEN -90 AND 90),
    primary_side TEXT CHECK (primary_side IN ('left', 'right')),
    primary_direction TEXT REFERENCES direction,
    end_criterion TEXT REFERENCES end_criterion,
    notes TEXT,
    program_version TEXT NOT NULL,
    CHECK ((state = 'open') = (ended_s IS NULL)),
    CHECK ((ended_at IS NULL) = (ended_s IS NULL)),
    CHECK ((primary_side IS NULL) = (primary_direction IS NULL))
) STRICT;
CREATE INDEX visit_person ON visit (person);

-- What a stretch of the visit was; end_s is null while it lasts.
CREATE TABLE phase_span (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    trial_type TEXT NOT NULL
        CHECK (trial_type IN ('neutral', 'align-knee', 'baseline', 'treatment', 'retest')),
    side TEXT CHECK (side IN ('left', 'right')),
    start_s REAL NOT NULL,
    end_s REAL CHECK (end_s >= start_s)
) STRICT;
CREATE INDEX phase_span_visit ON phase_span (visit);

-- One device, known by its address.
CREATE TABLE sensor (
    id INTEGER PRIMARY KEY,
    address TEXT NOT NULL UNIQUE,
    name TEXT,
    serial TEXT,
    calibration TEXT
) STRICT;

-- A sensor strapped on; strapped on anew, it gets the next strap epoch.
CREATE TABLE visit_sensor (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    sensor INTEGER NOT NULL REFERENCES sensor,
    role TEXT NOT NULL REFERENCES sensor_role,
    strap_epoch INTEGER NOT NULL CHECK (strap_epoch >= 0),
    from_s REAL NOT NULL,
    profile TEXT NOT NULL,
    accel_m_s2_per_count REAL CHECK (accel_m_s2_per_count > 0),
    gyro_rad_s_per_count REAL CHECK (gyro_rad_s_per_count > 0),
    UNIQUE (visit, role, strap_epoch)
) STRICT;
CREATE INDEX visit_sensor_sensor ON visit_sensor (sensor);

-- How a sensor sat on its segment.
CREATE TABLE alignment (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL,
    role TEXT NOT NULL,
    strap_epoch INTEGER NOT NULL,
    at_s REAL NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('quick', 'knee-bends')),
    knee_axis_x REAL NOT NULL,
    knee_axis_y REAL NOT NULL,
    knee_axis_z REAL NOT NULL,
    long_axis_x REAL NOT NULL,
    long_axis_y REAL NOT NULL,
    long_axis_z REAL NOT NULL,
    residual_deg REAL NOT NULL CHECK (residual_deg >= 0),
    uncertainty_deg REAL NOT NULL CHECK (uncertainty_deg >= 0),
    neutral_deg REAL NOT NULL,
    algorithm_version TEXT NOT NULL,
    FOREIGN KEY (visit, role, strap_epoch)
        REFERENCES visit_sensor (visit, role, strap_epoch) ON DELETE CASCADE
) STRICT;
CREATE INDEX alignment_strap ON alignment (visit, role, strap_epoch);

-- What is done in treatment.
CREATE TABLE technique (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE
) STRICT;

-- One contraction and lengthening.
CREATE TABLE cycle (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    technique INTEGER REFERENCES technique,
    side TEXT NOT NULL CHECK (side IN ('left', 'right')),
    direction TEXT REFERENCES direction,
    number INTEGER NOT NULL CHECK (number >= 1),
    start_s REAL NOT NULL,
    contraction_s REAL CHECK (contraction_s >= 0),
    lengthening_s REAL CHECK (lengthening_s >= 0),
    hold_s REAL CHECK (hold_s >= 0),
    UNIQUE (visit, side, number)
) STRICT;

-- One movement out to an end range, with its times as they were captured.
CREATE TABLE repetition (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    side TEXT NOT NULL CHECK (side IN ('left', 'right')),
    phase TEXT NOT NULL CHECK (phase IN ('baseline', 'treatment', 'retest')),
    direction TEXT NOT NULL REFERENCES direction,
    number INTEGER NOT NULL CHECK (number >= 1),
    rater INTEGER REFERENCES rater,
    end_criterion TEXT REFERENCES end_criterion,
    technique INTEGER REFERENCES technique,
    cycle INTEGER REFERENCES cycle,
    strap_epoch INTEGER,
    start_s REAL NOT NULL,
    end_range_at_s REAL NOT NULL,
    hold_s REAL NOT NULL CHECK (hold_s >= 0),
    struck_out TEXT CHECK (length(struck_out) > 0),
    UNIQUE (visit, side, phase, direction, number)
) STRICT;
CREATE INDEX repetition_cycle ON repetition (cycle);

-- What one algorithm made of a repetition: the live value, and any number of final ones.
CREATE TABLE repetition_value (
    repetition INTEGER NOT NULL REFERENCES repetition ON DELETE CASCADE,
    kind TEXT NOT NULL CHECK (kind IN ('live', 'final')),
    algorithm_version TEXT NOT NULL CHECK (length(algorithm_version) > 0),
    end_range_deg REAL NOT NULL,
    uncertainty_deg REAL NOT NULL CHECK (uncertainty_deg > 0),
    start_s REAL NOT NULL,
    end_range_at_s REAL NOT NULL,
    hold_s REAL NOT NULL CHECK (hold_s >= 0),
    knee_flexion_deg REAL,
    pelvis_roll_deg REAL,
    flags TEXT NOT NULL,
    computed_at TEXT NOT NULL,
    PRIMARY KEY (repetition, kind, algorithm_version)
) STRICT, WITHOUT ROWID;

-- Before against after; a null direction is total rotation.
CREATE TABLE verdict (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    side TEXT NOT NULL CHECK (side IN ('left', 'right')),
    direction TEXT REFERENCES direction,
    baseline_count INTEGER NOT NULL CHECK (baseline_count >= 0),
    retest_count INTEGER NOT NULL CHECK (retest_count >= 0),
    baseline_mean_deg REAL,
    retest_mean_deg REAL,
    change_deg REAL,
    ci95_low_deg REAL,
    ci95_high_deg REAL CHECK (ci95_high_deg >= ci95_low_deg),
    mdc95_deg REAL CHECK (mdc95_deg > 0),
    mdc95_source TEXT NOT NULL,
    finding TEXT NOT NULL CHECK (finding IN ('not-enough', 'within-error', 'exceeds-error')),
    statement TEXT NOT NULL,
    algorithm_version TEXT NOT NULL CHECK (length(algorithm_version) > 0),
    computed_at TEXT NOT NULL,
    CHECK ((ci95_low_deg IS NULL) = (ci95_high_deg IS NULL))
) STRICT;
-- Null directions would not be held unique by a plain index.
CREATE UNIQUE INDEX verdict_once ON verdict (visit, side, ifnull(direction, ''), algorithm_version);

-- Raw samples; `codec` says how `bytes` is read.
CREATE TABLE raw_chunk (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL,
    role TEXT NOT NULL,
    strap_epoch INTEGER NOT NULL,
    counter_epoch INTEGER NOT NULL CHECK (counter_epoch >= 0),
    codec INTEGER NOT NULL,
    accel_m_s2_per_count REAL CHECK (accel_m_s2_per_count > 0),
    gyro_rad_s_per_count REAL CHECK (gyro_rad_s_per_count > 0),
    start_s REAL NOT NULL,
    end_s REAL NOT NULL CHECK (end_s >= start_s),
    count INTEGER NOT NULL CHECK (count > 0),
    bytes BLOB NOT NULL,
    CHECK ((accel_m_s2_per_count IS NULL) = (gyro_rad_s_per_count IS NULL)),
    FOREIGN KEY (visit, role, strap_epoch)
        REFERENCES visit_sensor (visit, role, strap_epoch) ON DELETE CASCADE
) STRICT;
CREATE INDEX raw_chunk_time ON raw_chunk (visit, role, strap_epoch, start_s);

-- A stretch without samples: lost is data too.
CREATE TABLE gap (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    role TEXT NOT NULL REFERENCES sensor_role,
    from_s REAL NOT NULL,
    to_s REAL NOT NULL CHECK (to_s >= from_s),
    lost INTEGER NOT NULL CHECK (lost >= 0),
    cause TEXT NOT NULL REFERENCES gap_cause
) STRICT;
CREATE INDEX gap_visit ON gap (visit);

-- Each giving and withdrawing of consent is a row of its own; the newest holds.
CREATE TABLE consent (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    person INTEGER NOT NULL REFERENCES person ON DELETE CASCADE,
    visit INTEGER REFERENCES visit ON DELETE CASCADE,
    purpose TEXT NOT NULL,
    given INTEGER NOT NULL CHECK (given IN (0, 1)),
    wording_version TEXT NOT NULL,
    at TEXT NOT NULL,
    note TEXT
) STRICT;
CREATE INDEX consent_person ON consent (person);
CREATE INDEX consent_visit ON consent (visit);

-- A caution that was asked, and the answer.
CREATE TABLE caution (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    question TEXT NOT NULL,
    answer TEXT NOT NULL,
    at_s REAL NOT NULL,
    note TEXT
) STRICT;
CREATE INDEX caution_visit ON caution (visit);

-- Pain on the 0–10 numerical rating scale.
CREATE TABLE pain (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    phase TEXT CHECK (phase IN ('baseline', 'treatment', 'retest')),
    side TEXT CHECK (side IN ('left', 'right')),
    rating INTEGER NOT NULL CHECK (rating BETWEEN 0 AND 10),
    at_s REAL NOT NULL,
    note TEXT
) STRICT;
CREATE INDEX pain_visit ON pain (visit);

-- A moment somebody marked (a pedal, a double tap).
CREATE TABLE mark (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    at_s REAL NOT NULL,
    kind TEXT NOT NULL,
    note TEXT
) STRICT;
CREATE INDEX mark_visit ON mark (visit);

-- Who did what to the records. It outlives what it speaks of, hence no reference.
CREATE TABLE audit (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    actor TEXT,
    action TEXT NOT NULL,
    subject TEXT NOT NULL,
    detail TEXT
) STRICT;
