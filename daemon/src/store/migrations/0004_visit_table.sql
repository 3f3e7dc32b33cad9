-- The levelling that counts for a visit: on which table, how it tilts, and how well that is known.
-- Where it is null, visit.table_tilt_deg is a tilt that was told as a number, if there is one.
ALTER TABLE visit ADD COLUMN table_level INTEGER REFERENCES table_level;
