-- Words that were taken out of the search are gone from its index at once, not when it is next put in order; those of before go now.
INSERT INTO finds (finds, rank) VALUES ('secure-delete', 1);
INSERT INTO finds (finds) VALUES ('optimize');
INSERT INTO finds_who (finds_who, rank) VALUES ('secure-delete', 1);
INSERT INTO finds_who (finds_who) VALUES ('optimize');
