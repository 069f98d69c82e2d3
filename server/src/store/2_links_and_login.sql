-- The passphrase that lets people in over the network: never itself, only what is worked out from it. The last one counts.
CREATE TABLE passphrase (
    id     INTEGER PRIMARY KEY,
    salt   TEXT NOT NULL,
    hash   TEXT NOT NULL CONSTRAINT "a passphrase is kept as 256 bits" CHECK (length(hash) = 64),
    chosen TEXT NOT NULL
) STRICT;

-- Browsers that gave it, by the hash of what they were handed for it.
CREATE TABLE session (
    hash    TEXT PRIMARY KEY CONSTRAINT "a session is kept as 256 bits" CHECK (length(hash) = 64),
    expires TEXT NOT NULL,
    seen    TEXT NOT NULL
) STRICT;

-- Addresses under which one shop reads its ticket of one plan, by the hash of their secret part.
CREATE TABLE link (
    id       INTEGER PRIMARY KEY,
    hash     TEXT    NOT NULL UNIQUE CONSTRAINT "a link is kept as 256 bits" CHECK (length(hash) = 64),
    plan     TEXT    NOT NULL CONSTRAINT "a link belongs to a plan" CHECK (plan <> ''),
    role     TEXT    NOT NULL CONSTRAINT "a link belongs to a shop of the plan" CHECK (role <> ''),
    shop     TEXT    NOT NULL,
    revision INTEGER NOT NULL,
    said     TEXT    NOT NULL,
    made     TEXT    NOT NULL,
    expires  TEXT    NOT NULL,
    revoked  TEXT
) STRICT;

CREATE INDEX link_by_plan ON link (plan, id);

CREATE TRIGGER link_keeps_what_it_is BEFORE UPDATE OF id, hash, plan, role, shop, revision, said, made, expires ON link
BEGIN SELECT RAISE(ABORT, 'a link is never changed, only revoked'); END;

CREATE TRIGGER link_stays_revoked BEFORE UPDATE OF revoked ON link WHEN OLD.revoked IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a revoked link stays revoked'); END;

-- When a link was opened, and from where.
CREATE TABLE link_opened (
    id      INTEGER PRIMARY KEY,
    link    INTEGER NOT NULL REFERENCES link (id),
    opened  TEXT    NOT NULL,
    address TEXT    NOT NULL,
    browser TEXT    NOT NULL
) STRICT;

CREATE INDEX link_opened_by_link ON link_opened (link, id);
