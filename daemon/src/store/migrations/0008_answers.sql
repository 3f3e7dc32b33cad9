-- What was answered in a guided visit, as it was given: the visit comes back to its place by these
-- rows alone. What other tables hold of it (consent, cautions, pain, plan) is written beside them.
CREATE TABLE answer (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    visit INTEGER NOT NULL REFERENCES visit ON DELETE CASCADE,
    at_s REAL NOT NULL,
    at TEXT NOT NULL,
    step TEXT NOT NULL,
    answer TEXT NOT NULL CHECK (json_valid(answer))
) STRICT;
CREATE INDEX answer_visit ON answer (visit);
