-- What may not be claimed at all gets a word of its own, and looks at a comparison that could still
-- decide whether to go on are kept: each costs part of the 5 %.

CREATE TABLE verdict_new (
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
    finding TEXT NOT NULL
        CHECK (finding IN ('not-enough', 'no-claim', 'within-error', 'exceeds-error')),
    statement TEXT NOT NULL,
    algorithm_version TEXT NOT NULL CHECK (length(algorithm_version) > 0),
    computed_at TEXT NOT NULL,
    CHECK ((ci95_low_deg IS NULL) = (ci95_high_deg IS NULL))
) STRICT;
-- Until now a refused claim was stored as too few repetitions, with a statement that says which it is.
INSERT INTO verdict_new
    SELECT id, visit, side, direction, baseline_count, retest_count, baseline_mean_deg,
           retest_mean_deg, change_deg, ci95_low_deg, ci95_high_deg, mdc95_deg, mdc95_source,
           CASE WHEN finding = 'not-enough' AND statement LIKE 'No claim%' THEN 'no-claim'
                ELSE finding END,
           statement, algorithm_version, computed_at
    FROM verdict;
DROP TABLE verdict;
ALTER TABLE verdict_new RENAME TO verdict;
-- Null directions would not be held unique by a plain index.
CREATE UNIQUE INDEX verdict_once ON verdict (visit, side, ifnull(direction, ''), algorithm_version);

CREATE TABLE look (
    id INTEGER PRIMARY KEY,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    side TEXT NOT NULL CHECK (side IN ('left', 'right')),
    direction TEXT NOT NULL REFERENCES direction,
    retest_count INTEGER NOT NULL CHECK (retest_count >= 1),
    told TEXT NOT NULL
        CHECK (told IN ('settled', 'more', 'limit-decides', 'out-of-reach')),
    at_s REAL NOT NULL
) STRICT;
CREATE INDEX look_visit ON look (visit);
