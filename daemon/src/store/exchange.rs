//! Two sensors that turned out to be on each other's leg.

use rusqlite::{Connection, params};

use super::VisitId;

/// Whatever was stored of either shank's sensor becomes the other's. Spans keep their side: they say
/// which leg was meant.
pub(super) fn exchange_shanks(db: &Connection, visit: VisitId) -> rusqlite::Result<i64> {
    // Rows refer to their sensor by its role; within the transaction they may dangle.
    db.execute_batch("PRAGMA defer_foreign_keys = ON")?;
    for table in ["raw_chunk", "alignment", "gap", "gyro_bias"] {
        let sql = format!(
            "UPDATE {table} SET role = CASE role WHEN 'left-shank' THEN 'right-shank'
                                                 ELSE 'left-shank' END
             WHERE visit = ?1 AND role IN ('left-shank', 'right-shank')"
        );
        db.prepare_cached(&sql)?.execute(params![visit.0])?;
    }
    // A role and strapping may be there only once at every moment, so the left one steps aside.
    for sql in [
        "UPDATE visit_sensor SET role = 'right-shank', strap_epoch = strap_epoch + ?2
         WHERE visit = ?1 AND role = 'left-shank'",
        "UPDATE visit_sensor SET role = 'left-shank'
         WHERE visit = ?1 AND role = 'right-shank' AND strap_epoch < ?2",
        "UPDATE visit_sensor SET strap_epoch = strap_epoch - ?2
         WHERE visit = ?1 AND strap_epoch >= ?2",
    ] {
        db.prepare_cached(sql)?.execute(params![visit.0, ASIDE])?;
    }
    Ok(visit.0)
}

// More than a visit has strappings.
const ASIDE: i64 = 1_000_000;
