-- What a client said of photos: '' nobody asked, 'yes', 'firm' (for the firm's own work: on no link and in no season record), 'no' (none are taken).
ALTER TABLE clients ADD COLUMN photos TEXT NOT NULL DEFAULT '' CHECK (photos IN ('', 'yes', 'firm', 'no'));
