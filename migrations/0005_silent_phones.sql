-- What a phone said it still keeps, at the last contact, and when the office gave up waiting for it.
ALTER TABLE devices ADD COLUMN unsent INTEGER NOT NULL DEFAULT 0;
ALTER TABLE devices ADD COLUMN given_up TEXT NOT NULL DEFAULT '';
