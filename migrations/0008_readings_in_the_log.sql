-- A reading that was taken in at once lies in the log whole and is not written a second time: readings is what the log shows of them. Only what the office
-- took in later has a row of its own, in taken_readings, since it began to count after its place in the log.
-- entry is the order in which readings began to count: the feed number times 1048576, and what was taken in before the next operation came follows it one by one.
CREATE TABLE taken_readings (
	entry    INTEGER PRIMARY KEY,
	id       TEXT NOT NULL UNIQUE,
	seq      INTEGER NOT NULL,
	visit    TEXT NOT NULL REFERENCES visits (id),
	zone     TEXT NOT NULL, -- '' is the whole visit
	check_id TEXT NOT NULL,
	typed    TEXT NOT NULL,
	edition  TEXT NOT NULL,
	author   TEXT NOT NULL,
	device   TEXT NOT NULL,
	n        INTEGER NOT NULL,
	at       TEXT NOT NULL,
	stamp    TEXT NOT NULL,
	base     INTEGER NOT NULL
) STRICT;
CREATE INDEX taken_readings_visit ON taken_readings (visit, seq);

CREATE TABLE entries (old INTEGER PRIMARY KEY, direct INTEGER NOT NULL, new INTEGER NOT NULL) STRICT;
INSERT INTO entries (old, direct, new)
	SELECT entry, direct, upto * 1048576 + sum(NOT direct) OVER (PARTITION BY upto ORDER BY entry) FROM (
		SELECT r.entry, o.seq IS NOT NULL AS direct, coalesce(max(o.seq) OVER (ORDER BY r.entry), 0) AS upto
		FROM readings r LEFT JOIN ops o ON o.id = r.id AND o.kind = 'reading' AND o.aside = '');
INSERT INTO taken_readings (entry, id, seq, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base)
	SELECT e.new, r.id, r.seq, r.visit, r.zone, r.check_id, r.typed, r.edition, r.author, r.device, r.n, r.at, r.stamp, r.base
	FROM readings r JOIN entries e ON e.old = r.entry WHERE e.direct = 0;
DROP TRIGGER reviews_no_update;
UPDATE reviews SET known = coalesce((SELECT new FROM entries WHERE old <= known ORDER BY old DESC LIMIT 1), 0) WHERE kind = 'choose';
CREATE TRIGGER reviews_no_update BEFORE UPDATE ON reviews BEGIN SELECT RAISE(ABORT, 'reviews are append-only'); END;
DROP TABLE entries;

DROP TRIGGER notes_find;
DROP TABLE readings;
CREATE VIEW readings AS
	SELECT seq * 1048576 AS entry, id, seq, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base
	FROM ops WHERE kind = 'reading' AND aside = ''
	UNION ALL
	SELECT entry, id, seq, visit, zone, check_id, typed, edition, author, device, n, at, stamp, base FROM taken_readings;

-- Words of notes are made ready for looking up a little later, up to the operation that noted names, so that no phone waits for it.
CREATE TABLE noted (one INTEGER PRIMARY KEY CHECK (one = 1), seq INTEGER NOT NULL) STRICT;
INSERT INTO noted (one, seq) SELECT 1, coalesce(max(seq), 0) FROM ops;
CREATE INDEX ops_notes ON ops (seq) WHERE check_id = 'note' AND kind = 'reading' AND aside = '';
CREATE VIEW notes AS SELECT seq, id, visit, typed FROM ops WHERE check_id = 'note' AND kind = 'reading' AND aside = '';
CREATE TRIGGER taken_notes_find AFTER INSERT ON taken_readings WHEN new.check_id = 'note' BEGIN
	INSERT INTO findable (kind, id, place) VALUES ('note', new.id, new.visit);
	INSERT INTO finds (rowid, words) SELECT n, new.typed FROM findable WHERE kind = 'note' AND id = new.id;
END;

-- Whose records are looked for by their author is only what was set aside.
DROP INDEX ops_author;
CREATE INDEX ops_author ON ops (author, seq) WHERE aside <> '';
