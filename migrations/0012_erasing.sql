-- A client's data is erased on request: this row is there only inside the transaction that does it, and lets what was said be emptied. Nothing else may.
CREATE TABLE erasing (one INTEGER PRIMARY KEY CHECK (one = 1)) STRICT;

DROP TRIGGER ops_no_update;
CREATE TRIGGER ops_no_update BEFORE UPDATE ON ops WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
DROP TRIGGER clashes_no_update;
CREATE TRIGGER clashes_no_update BEFORE UPDATE ON clashes WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'clashes are append-only'); END;
DROP TRIGGER settled_no_update;
CREATE TRIGGER settled_no_update BEFORE UPDATE ON settled WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'decisions are append-only'); END;
DROP TRIGGER reviews_no_update;
CREATE TRIGGER reviews_no_update BEFORE UPDATE ON reviews WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'reviews are append-only'); END;
DROP TRIGGER plans_no_update;
CREATE TRIGGER plans_no_update BEFORE UPDATE ON plans WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'signed plans are append-only'); END;
DROP TRIGGER audit_no_update;
CREATE TRIGGER audit_no_update BEFORE UPDATE ON audit WHEN NOT EXISTS (SELECT 1 FROM erasing) BEGIN SELECT RAISE(ABORT, 'the audit log is append-only'); END;

-- Who was erased, and until when the law keeps the name and the addresses in records of what was put down: '' is not any more.
CREATE TABLE erased (
	client    TEXT PRIMARY KEY REFERENCES clients (id),
	by_person TEXT NOT NULL,
	at        TEXT NOT NULL,
	held      TEXT NOT NULL -- the last day, such as "2028-08-27"
) STRICT, WITHOUT ROWID;

-- Rows of the log that were emptied: phones that asked up to after are told to drop them.
CREATE TABLE erased_ops (
	seq   INTEGER PRIMARY KEY,
	after INTEGER NOT NULL
) STRICT;
CREATE INDEX erased_ops_after ON erased_ops (after);

-- Photos whose files are to go, until they are gone.
CREATE TABLE erased_photos (sha TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
