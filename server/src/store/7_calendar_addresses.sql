-- Addresses under which a calendar program reads the steps of one plan, by the hash of their secret part.
CREATE TABLE calendar_address (
    id      INTEGER PRIMARY KEY,
    hash    TEXT NOT NULL UNIQUE CONSTRAINT "an address is kept as 256 bits" CHECK (length(hash) = 64),
    plan    TEXT NOT NULL CONSTRAINT "an address belongs to a plan" CHECK (plan <> ''),
    made    TEXT NOT NULL,
    read    TEXT,
    revoked TEXT
) STRICT;

CREATE INDEX calendar_address_by_plan ON calendar_address (plan, id);

CREATE TRIGGER calendar_address_keeps_what_it_is BEFORE UPDATE OF id, hash, plan, made ON calendar_address
BEGIN SELECT RAISE(ABORT, 'an address is never changed, only revoked'); END;

CREATE TRIGGER calendar_address_stays_revoked BEFORE UPDATE OF revoked ON calendar_address WHEN OLD.revoked IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a revoked address stays revoked'); END;
