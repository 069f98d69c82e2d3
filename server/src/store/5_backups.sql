-- Backups made of the whole notebook: when, where to, and up to which revision and ledger line.
CREATE TABLE backup (
    id       INTEGER PRIMARY KEY,
    made     TEXT    NOT NULL,
    folder   TEXT    NOT NULL,
    revision INTEGER NOT NULL CONSTRAINT "the last revision in it, or none" CHECK (revision >= 0),
    ledger   INTEGER NOT NULL CONSTRAINT "the last ledger line in it, or none" CHECK (ledger >= 0)
) STRICT;
